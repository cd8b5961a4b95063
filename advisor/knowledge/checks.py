"""What ``sumpside rules check`` finds by reading: every check that needs no judgement of a case.

What needs one (a cause that cannot win, a question that changes nothing, a case that does not come out)
is in `advisor.reports.rule_proofs`.
"""

from __future__ import annotations

from collections.abc import Iterator

from advisor.knowledge import prose, usage, version_lock, whole
from advisor.knowledge.advice import Advice
from advisor.knowledge.coverage import cases_of
from advisor.knowledge.rule_files import RuleFiles


def check(files: RuleFiles) -> list[Advice]:
    """All remarks, errors first, in the order of the files."""
    program = usage.read_by_program()
    found = [
        *usage.sources(files),
        *usage.answers(files, program),
        *usage.questions(files, program),
        *usage.deaf_signs(files),
        *usage.thresholds(files),
        *usage.twins(files),
        *prose.fillers(files),
        *whole.check(files),
        *cases(files),
        *version_lock.changes(files),
    ]
    return in_order(found)


def in_order(found: list[Advice]) -> list[Advice]:
    """Errors first, each once, by file and line."""
    return sorted(set(found), key=lambda one: (one.level != "error", _place(one.place), one.what))


def _place(place: str) -> tuple[str, int]:
    file, _, line = place.rpartition(":")
    return file, int(line) if line.isdigit() else 0


def cases(files: RuleFiles) -> Iterator[Advice]:
    """A cause without a case that must lead, stay silent, or ask; a caution without one of each side."""
    for entry in files.of("causes"):
        held = cases_of(files, "causes", entry.id)
        wanted = {
            "must lead": any(c.get("lead") == entry.id or entry.id in c.get("top", []) for c in held),
            "must stay silent at the exact limit": any(entry.id in c.get("silent", []) for c in held),
            "lacks the deciding fact, so that something is asked": any(c.get("asks") for c in held),
        }
        yield from _missing(entry.place(), entry.id, "causes", wanted)
    for entry in files.of("cautions"):
        held = cases_of(files, "cautions", entry.id)
        wanted = {
            "must show it": any(entry.id in c.get("shows", []) for c in held),
            "must not show it": any(entry.id in c.get("hides", []) for c in held),
        }
        yield from _missing(entry.place(), entry.id, "cautions", wanted)
    known = {(e.kind, e.id) for e in files.of("causes", "cautions")}
    for (under, owner), document in files.cases.items():
        if (under, owner) not in known:
            yield Advice(
                document.place(),
                f'there is no {under[:-1]} "{owner}" these cases could belong to',
                "give the file the name of its cause or caution",
                check="cases",
            )


def _missing(place: str, key: str, under: str, wanted: dict[str, bool]) -> Iterator[Advice]:
    for what, there in wanted.items():
        if not there:
            yield Advice(
                place, f'"{key}" has no case that {what}', f"add one to rules/{under}/{key}.cases.yaml",
                check="cases",
            )  # fmt: skip
