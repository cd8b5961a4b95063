"""A rule whose content changed has a new version: ``rules/versions.lock.json`` remembers both.

The content is what the YAML says, not how it is laid out: comments, order of keys and line breaks do
not count. Only files that carry a ``version`` (causes, cautions, actions) are locked.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from advisor.errors import BadRules
from advisor.knowledge.advice import Advice
from advisor.knowledge.rule_files import ONE_EACH, Entry, RuleFiles

LOCK = "versions.lock.json"
_REWRITE = 'run "sumpside rules lock" once the change has been reviewed'


def content_hash(data: dict[str, Any]) -> str:
    """SHA-256 of an entry without its version, first 16 digits."""
    told = {key: value for key, value in data.items() if key != "version"}
    body = json.dumps(told, sort_keys=True, ensure_ascii=False, separators=(",", ":"))
    return hashlib.sha256(body.encode()).hexdigest()[:16]


def read_lock(folder: Path) -> dict[str, dict[str, Any]]:
    """What the lock holds: ``"causes/lean_mix": {"version": 1, "hash": "…"}``; empty without a lock.

    Raises:
        BadRules: the file is there and is not a lock.
    """
    file = folder / LOCK
    try:
        held = json.loads(file.read_text(encoding="utf-8"))
        return {
            str(key): {"version": int(row["version"]), "hash": str(row["hash"])} for key, row in held.items()
        }
    except FileNotFoundError:
        return {}
    except (OSError, ValueError, KeyError, TypeError, AttributeError) as trouble:
        raise BadRules(
            f"is not a lock of versions ({trouble})",
            place=f"{file}:1",
            right='take it back from the last commit, or run "sumpside rules lock --anew"',
        ) from None


def _locked(files: RuleFiles) -> dict[str, Entry]:
    return {f"{entry.kind}/{entry.id}": entry for entry in files.of(*ONE_EACH)}


def changes(files: RuleFiles) -> Iterator[Advice]:
    """Errors for a change without a new version; advice for what the lock does not hold yet."""
    lock, now = read_lock(files.folder), _locked(files)
    for key, entry in now.items():
        version, held = entry.data["version"], lock.get(key)
        place = entry.place("version")
        if held is None:
            yield Advice(place, f'"{key}" is not in {LOCK} yet', _REWRITE, "advice", "version")
        elif version < held["version"]:
            yield Advice(
                place,
                f"version {version} is lower than the {held['version']} it had",
                f"write version: {held['version'] + 1}",
                check="version",
            )
        elif content_hash(entry.data) != held["hash"]:
            if version == held["version"]:
                yield Advice(
                    place,
                    f'"{key}" has changed and still has version {version}',
                    f"write version: {version + 1}",
                    check="version",
                )
            else:
                yield Advice(place, f'"{key}" has a new version {version}', _REWRITE, "advice", "version")
    for key in lock.keys() - now.keys():
        yield Advice(
            f"{files.folder / LOCK}:1",
            f'"{key}" is locked and its file is gone',
            _REWRITE,
            "advice",
            "version",
        )


def write_lock(files: RuleFiles, *, anew: bool = False) -> int:
    """Write the lock for the files as they stand; the count of entries.

    Args:
        files: all the rules.
        anew: forget the old lock, for a rule base that was never given out.

    Raises:
        BadRules: something changed without a new version (not when `anew`).
    """
    wrong = [] if anew else [advice for advice in changes(files) if advice.level == "error"]
    if wrong:
        first = wrong[0]
        more = f" ({len(wrong) - 1} more)" if len(wrong) > 1 else ""
        raise BadRules(first.what + more, place=first.place, right=first.right)
    rows = {
        key: {"version": entry.data["version"], "hash": content_hash(entry.data)}
        for key, entry in sorted(_locked(files).items())
    }
    lines = ",\n".join(f"  {json.dumps(key)}: {json.dumps(row)}" for key, row in rows.items())
    (files.folder / LOCK).write_text(f"{{\n{lines}\n}}\n", encoding="utf-8")
    return len(rows)
