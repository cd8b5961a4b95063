"""From the files under ``rules/`` to the compiled rule base, with advice for whoever wrote a mistake.

The compiled form is one JSON object. Its hash names the rule base: a case keeps the hash it was
judged with. In a wheel the JSON is made when the wheel is built; in a checkout it is made on first
use and kept in the user's cache under the hash of the files.
"""

from __future__ import annotations

import difflib
import hashlib
import json
import os
from collections.abc import Iterator
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from advisor.knowledge.yaml_source import Document

_PACKAGE = Path(__file__).resolve().parent.parent
#: Bumped when the compiled form changes, so that an older cache is not read.
FORM = 2


def rules_folder() -> Path:
    """The folder of rules: the one SUMPSIDE_RULES names, else inside the package (a wheel) or beside it."""
    if os.environ.get("SUMPSIDE_RULES"):
        return Path(os.environ["SUMPSIDE_RULES"])
    packed = _PACKAGE / "_rules"
    return packed if packed.is_dir() else _PACKAGE.parent / "rules"


@lru_cache(maxsize=4)
def compiled(folder: Path | None = None) -> dict[str, Any]:
    """The compiled rule base, from the wheel, the cache, or the files.

    Raises:
        BadRules: a file is wrong; with file, line and what would be right.
    """
    folder = folder or rules_folder()
    ready = folder / "rules.json"
    if ready.is_file():
        return _read_json(ready.read_bytes())
    stamp = _stamp(folder)
    cache = _cache_file(stamp)
    try:
        return _read_json(cache.read_bytes())
    except (OSError, ValueError):
        pass
    made = compile_rules(folder)
    try:  # an unwritable cache is no error
        cache.parent.mkdir(parents=True, exist_ok=True)
        part = cache.with_suffix(f".{os.getpid()}")
        part.write_bytes(made)
        part.replace(cache)
    except OSError:
        pass
    return _read_json(made)


def _read_json(data: bytes) -> dict[str, Any]:
    made: dict[str, Any] = json.loads(data)
    return made


def _stamp(folder: Path) -> str:
    digest = hashlib.sha256(f"form {FORM}".encode())
    for program in (
        "knowledge/schema.py",
        "knowledge/loader.py",
        "knowledge/yaml_source.py",
        "knowledge/assemble.py",
        "knowledge/condition_shape.py",
        "knowledge/procedures.py",
        "phrasing.py",
    ):
        digest.update((_PACKAGE / program).read_bytes())
    for file in sorted(folder.rglob("*.yaml")):
        digest.update(str(file.relative_to(folder)).encode())
        digest.update(file.read_bytes())
    return digest.hexdigest()


def _cache_file(stamp: str) -> Path:
    root = os.environ.get("XDG_CACHE_HOME")
    return (Path(root) if root else Path.home() / ".cache") / "sumpside" / f"rules-{stamp[:32]}.json"


def compile_rules(folder: Path) -> bytes:
    """Compile every file under `folder` into one JSON object, its own hash inside.

    Raises:
        BadRules: a file is wrong, an id is unknown, a source is not listed.
    """
    from advisor.knowledge.assemble import assemble

    made = assemble(folder)
    body = json.dumps(made, ensure_ascii=False, sort_keys=True, separators=(",", ":"))
    made["hash"] = hashlib.sha256(body.encode()).hexdigest()[:16]
    return json.dumps(made, ensure_ascii=False, separators=(",", ":")).encode()


def documents(folder: Path, under: str) -> Iterator[Document]:
    """The YAML files of one subfolder, in name order; case files are left to `case_files`."""
    from advisor.knowledge.yaml_source import read

    for file in sorted((folder / under).glob("*.yaml")):
        if not file.name.endswith(".cases.yaml"):
            yield read(file)


def case_files(folder: Path, under: str) -> Iterator[tuple[str, Document]]:
    """``(id, document)`` of every cases file of one subfolder."""
    from advisor.knowledge.yaml_source import read

    for file in sorted((folder / under).glob("*.cases.yaml")):
        yield file.name.removesuffix(".cases.yaml"), read(file)


def checked(document: Document, model: Any) -> Any:
    """The document's data as `model`.

    Raises:
        BadRules: with the line of the first value at fault and what would be right.
    """
    from pydantic import ValidationError

    try:
        return model.model_validate(document.data)
    except ValidationError as trouble:
        from advisor.knowledge.shape_advice import advise

        raise advise(document, trouble.errors(), model) from None


def nearest(word: str, known: Any) -> str | None:
    """The nearest known word, or None when nothing is near."""
    found = difflib.get_close_matches(str(word), [str(k) for k in known], n=1, cutoff=0.6)
    return found[0] if found else None
