"""The shape of every file under ``rules/``, checked with pydantic.

Used when the rules are compiled and checked, never while a conversation runs: the conversation reads
the compiled form (`advisor.knowledge.rulebase`).

Words such as ``often`` stand for numbers; the numbers are in ``rules/words.yaml`` and nowhere else.
A source is written ``id`` or ``id, where in it``; the ids are listed in ``rules/sources.yaml``, except
``practice`` (common practice, no source) and ``memory`` (from memory, unverified).
"""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import BaseModel, ConfigDict, Field, StringConstraints

Id = Annotated[str, StringConstraints(pattern=r"^[a-z][a-z0-9_]*$")]
Prose = Annotated[str, StringConstraints(min_length=3, strip_whitespace=True)]
Short = Annotated[str, StringConstraints(min_length=2, strip_whitespace=True)]
Sources = Annotated[list[Prose], Field(min_length=1)]
#: A condition on facts: a leaf such as ``"smell: rotten_egg"``, ``{quantity: ph, below: 8}``,
#: or ``{all: [...]}``, ``{any: [...]}``, ``{not: ...}``. `advisor.inference.conditions` reads it.
Condition = str | dict[str, Any]
Who = Literal["operator", "supervisor", "maintenance", "specialist", "licensed"]
Recipe = Literal["thin", "strengthen", "charge"]
Level = Literal["emergency", "stop", "warn", "note"]
Run = Literal["run", "limits", "stop"]


class Model(BaseModel):
    """Strict base: a key that is not known is refused, so a typo never passes silently."""

    model_config = ConfigDict(extra="forbid", frozen=True, defer_build=True)


class SourceEntry(Model):
    """One publication. ``standing`` says how it was read."""

    body: Prose
    title: Prose
    year: int | None = None
    section: Prose | None = None
    standing: Literal["read", "read_in_reproduction", "from_memory"]


class Words(Model):
    """What the words of the rule base mean as numbers."""

    how_often: dict[Id, float]
    common: dict[Id, float]
    how_much: dict[Id, float]
    base: dict[Id, float]
    sources: Sources


class Answer(Model):
    """One answer of a choice.

    ``base`` is a word: how often this is seen in a sump with none of the causes that show it.
    ``offer`` False keeps an answer out of the list a person is offered; ``trouble`` False says that it
    is nothing to complain of.
    """

    means: Short
    base: Id | None = None
    offer: bool = True
    trouble: bool = True


class Observable(Model):
    """Something that can be seen, smelt, read or said.

    ``role``: a *sign* and a *reading* count for or against causes; *context* only shifts how likely
    a cause is to start; *trust* says how far a number can be believed; *safety* goes to cautions.
    ``count: once``: several values of an any_of observable are one piece of evidence.
    ``effort`` in minutes at the sump, ``wait_h`` in hours; ``slip`` is the chance that an answer given
    with care is wrong all the same; ``costly`` says what it costs to be wrong. ``example``: of a number that
    answers the question, where its unit's general one would mislead. ``yes`` and ``no``: the
    answers a plain yes or no to the question stands for. ``asked``: other words in which somebody asks
    for it, for the drills.
    """

    id: Id
    kind: Literal["one_of", "any_of", "quantity"]
    name: Short
    role: Literal["sign", "reading", "context", "trust", "safety"]
    unit: str | None = None
    limits: tuple[float, float] | None = None
    step: float | None = None
    count: Literal["each", "once"] = "each"
    belongs_to: Id | None = None
    question: Prose | None = None
    example: Short | None = None
    look: list[Prose] = []
    asked: list[Short] = []
    place: Literal["person", "machine", "sump", "bench", "water", "store", "office", "lab"] = "sump"
    effort: float = 1.0
    wait_h: float = 0.0
    slip: float = 0.05
    costly: Prose | None = None
    yes: Id | None = None
    no: Id | None = None
    answers: dict[Id, Answer] = {}
    sources: list[Prose] = []


class VocabularyFile(Model):
    """``rules/vocabulary/*.yaml``."""

    observables: Annotated[list[Observable], Field(min_length=1)]


class Step(Model):
    """One band: ``answer`` holds ``below`` the limit, or ``up_to`` and including it; the last has none."""

    answer: Id
    below: float | Id | None = None
    up_to: float | Id | None = None
    because: Prose | None = None
    sources: list[Prose] = []


class Scale(Model):
    """The limits that hold under a condition; the first scale whose condition is true is used.

    ``sources``: of these limits, where they differ from the band's.
    """

    name: Short
    when: Condition | None = None
    steps: Annotated[list[Step], Field(min_length=2)]
    note: Prose | None = None
    sources: list[Prose] = []


class Published(Model):
    """What a publication says where publications do not agree; ``when``: the region it speaks for."""

    says: Prose
    when: Condition | None = None
    sources: Sources


class BySheet(Model):
    """How the product's data sheet takes the place of the scales.

    ``facts``: quantities that may hold the range, the first known one counts. Answers: ``below`` its lower
    end, ``inside``, ``above`` its upper end; an end without an answer is not a limit. A single figure is
    the most that is allowed, or with ``give`` the middle of a range that reaches so far to each side.
    """

    facts: Annotated[list[Id], Field(min_length=1)]
    give: float | None = None
    inside: Id
    below: Id | None = None
    above: Id | None = None


class Band(Model):
    """How a number becomes an answer of the one_of observable ``fills``.

    ``uncertainty``: one standard deviation of the usual way of measuring, in the canonical unit, or
    ``relative`` as a share of the value. A number near a limit counts for both sides.
    ``by_sheet``: the data sheet's range beats every scale. ``published``: who says what where
    publications do not agree.
    """

    fills: Id
    of: Id
    uncertainty: float
    relative: bool = False
    scales: Annotated[list[Scale], Field(min_length=1)]
    by_sheet: BySheet | None = None
    published: list[Published] = []
    sources: Sources


class Window(Model):
    """A working range of strength that is used when the shop has entered none."""

    name: Short
    when: Condition | None = None
    low: float
    high: float
    sources: Sources


class BandsFile(Model):
    """``rules/bands/*.yaml``: bands, the derived observables they fill, and default windows."""

    bands: list[Band] = []
    observables: list[Observable] = []
    windows: list[Window] = []


class Finding(Model):
    """A combination of facts worth a name. ``base`` as for answers; ``absorbs`` lists signs that this
    finding replaces as evidence once it is known, so that one observation is not counted twice."""

    id: Id
    title: Prose
    when: Condition
    base: Id | None = None
    absorbs: list[Prose] = []
    sources: Sources


class FindingsFile(Model):
    """``rules/findings/*.yaml``."""

    findings: Annotated[list[Finding], Field(min_length=1)]


class Favour(Model):
    """Context that multiplies the odds that a cause starts by itself."""

    fact: Condition
    how_much: Id
    because: Prose | None = None
    sources: Sources


class Lead(Model):
    """A cause this one brings about, and how often.

    ``when``: the metal or context it holds for. Several rows for one cause: the first whose condition is
    true counts; a row without ``when`` stands for what is not known.
    """

    cause: Id
    how_often: Id
    when: Condition | None = None
    because: Prose | None = None
    sources: Sources


class Sign(Model):
    """What a cause shows. Either ``finding`` with ``how_often``, or a one_of ``observable`` with
    ``answers``; answers not named stay at their base rate."""

    finding: str | None = None
    how_often: Id | None = None
    observable: Id | None = None
    answers: dict[Id, Id] | None = None
    because: Prose
    sources: Sources


class LookAlike(Model):
    """Another cause that looks the same, and how to tell."""

    cause: Id
    tell_apart: Prose


class Cause(Model):
    """``rules/causes/<id>.yaml``: one cause, whole.

    ``common``: how often it starts by itself, among sumps somebody asks about.
    ``state``: a condition of the fluid that a reading defines (lean, low pH), as distinct from what
    brought it about. ``referral``: an illness-like cause of which a person sees only the signs, the
    caution and the exposure. ``run``: whether the machine may run with this cause.
    """

    id: Id
    version: Annotated[int, Field(ge=1)]
    title: Prose
    plain: Prose
    means: Prose
    common: Id
    state: bool = False
    referral: bool = False
    run: Run = "run"
    run_because: Prose
    favoured_by: list[Favour] = []
    leads_to: list[Lead] = []
    signs: Annotated[list[Sign], Field(min_length=1)]
    look_alikes: list[LookAlike] = []
    prove_by: Id
    proves_not: list[Prose] = []
    hold: Id | None = None
    do: Annotated[list[Id], Field(min_length=1)]
    never: list[Prose] = []
    recheck: Prose
    dump_when: Prose | None = None
    prevent: list[Prose] = []
    sources: Sources


class AskedThen(Model):
    """What an emergency answers to a line that holds one of ``words``, in small letters."""

    words: Annotated[list[str], Field(min_length=1)]
    text: Prose


class Caution(Model):
    """``rules/cautions/<id>.yaml``: a danger, when it is told, and what it closes.

    ``when`` is judged on facts, findings, proposals (``proposed_action: bleach``) and, where it says
    ``cause: id``, on the leading causes. A loose fact counts as true.
    ``covers``: milder cautions that this one says already. ``closes``: recipes that are not computed
    while it stands. ``refuses``: what is refused, in words.
    ``do_now``: short numbered steps, for the emergency and stop levels.
    ``hold``: the action that holds until help comes while it stands, before that of any cause.
    ``asked``: answers to what is asked in the middle of an emergency, by the words that ask.
    """

    id: Id
    version: Annotated[int, Field(ge=1)]
    level: Level
    when: Condition
    text: Prose
    do_now: list[Prose] = []
    asked: list[AskedThen] = []
    hold: Id | None = None
    run: Run | None = None
    closes: list[Recipe] = []
    covers: list[Id] = []
    refuses: Prose | None = None
    lifted_by: Prose | None = None
    hands_to: Prose | None = None
    sources: Sources


class HowStep(Model):
    """One step of how an action is carried out, with where its figures come from."""

    text: Prose
    sources: Sources


class Action(Model):
    """``rules/actions/<id>.yaml``: one thing to do, who may do it, and what forbids it.

    ``measures``: observables it finds out; it is left out once one of them is firmly known. ``first``:
    it comes before everything that is not, wherever a cause lists it. ``includes``: actions that this one
    does as well, so that they are not listed beside it. ``how``: the same in steps, with the figures; told
    where somebody reads it up.
    """

    id: Id
    version: Annotated[int, Field(ge=1)]
    text: Prose
    who: Who
    how: list[HowStep] = []
    recipe: Recipe | None = None
    measures: list[Id] = []
    includes: list[Id] = []
    first: bool = False
    when: Condition | None = None
    forbidden_when: Condition | None = None
    forbidden_because: Prose | None = None
    sources: Sources


class Case(Model):
    """One case beside a cause or a caution.

    ``lead``: this id must lead; ``top``: must be among the first three; ``silent``: must not be said;
    ``shows``: cautions that must be shown; ``hides``: cautions that must not; ``asks``: an observable
    that must be among the next checks; ``verdict``: the kind of verdict.
    """

    name: Short
    facts: dict[str, Any] = {}
    ruled_out: list[str] = []
    loose: list[str] = []
    lead: Id | None = None
    top: list[Id] = []
    silent: list[Id] = []
    shows: list[Id] = []
    hides: list[Id] = []
    asks: list[Id] = []
    verdict: Literal["named", "unsettled", "outside"] | None = None


class CasesFile(Model):
    """``rules/causes/<id>.cases.yaml`` and ``rules/cautions/<id>.cases.yaml``."""

    cases: Annotated[list[Case], Field(min_length=1)]
