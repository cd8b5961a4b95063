"""The drill itself: a trainee's line in, blocks out. Knows no terminal and writes nothing."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from difflib import get_close_matches

from advisor.dialogue import phrases, policy
from advisor.dialogue.asking import SAFE_MEANS
from advisor.dialogue.blocks import Block
from advisor.dialogue.leaving import leaves
from advisor.dialogue.screens import facts_words
from advisor.dialogue.understanding import Lexicon, understand
from advisor.drills import topics
from advisor.drills.advice import PEOPLE, SAFETY_MINUTES, Look, advisor_path, look
from advisor.drills.debrief import Part, debrief_parts, score_blocks
from advisor.drills.hidden import Hidden
from advisor.drills.scoring import Recipe, Run, Score, cost_words, score
from advisor.errors import BadQuantity
from advisor.knowledge.facts import Fact
from advisor.knowledge.rulebase import RuleBase
from advisor.quantities import parse

HELP = (
    (
        "smell, pH, dip slide …",
        "asks for a look, a smell or a reading, in your own words; each costs minutes",
    ),
    ("people", "asks whether anyone has complaints or is in danger"),
    ("list", "everything that can be asked, with its minutes"),
    ("so far", "what you know and what it has cost"),
    ("cause: tramp oil", "names what is wrong; the last one named counts"),
    ("caution: air the room first", "says a danger and what to mind"),
    ("do: skim the oil", "says what you would do"),
    ("recipe: out 20 L, add 25 L at 1 %", "what you would take out and put in"),
    ("done", "ends the drill with a score; then \"more\" talks it over"),
    ("q", "leaves without a score"),
)
_SAFETY = ("people", "anyone", "anybody", "somebody", "safe", "safety", "danger", "hurt", "unwell", "sick")
_NAMED = re.compile(
    r"^\s*(?:(?:the )?(?:cause|fault|diagnosis|couse|casue)\s*(?:is|was|:|=)?"
    r"|i (?:think|say|guess|reckon)(?:\s+(?:that\s+)?(?:it is|it's|its|it was|the cause is))?"
    r"|it is|it's|its|it was|must be|could be)"
    r"\s+(.+)",
    re.I,
)
_CAUTION = re.compile(
    r"^\s*(?:caution|cuation|danger|(?:be )?carefull?(?: with| of)?|warning|warn|mind|beware(?: of)?"
    r"|watch out(?: for)?)\s*[:=]?\s+(.+)",
    re.I,
)
#: "do they show it too?" asks; "do: skim the oil" and "do skim the oil" say what would be done.
_ASKS = r"(?:the|they|you|we|any|those|these|other|others|all|people|parts|machines|it|he|she)\b"
_DO = re.compile(rf"^\s*(?:do\s*[:=]|do(?!\s+{_ASKS})|i would|i'd|i will|action)\s*[:=]?\s+(.+)", re.I)
#: "dose it smell" is a slip of the pen.
_DOSE = re.compile(r"\bdose (it|this|that|they)\b", re.I)
#: A deed told without "do".
_ACT = re.compile(
    r"^\s*((?:add|out|take out|remove|fill|tip|pour|dose|put|throw|dump|drain|skim|air the|ventilate|call"
    r"|shut|turn off|empty|lock)\b[^?]+)$",
    re.I,
)
_RECIPE = re.compile(r"^\s*(?:recipe|recipie|reciepe|mix)\b\s*[:=]?\s*(.*)", re.I)
_VOLUME = r"(\d[\d.,]*\s*(?:(?:us|uk|imp\w*)\s*)?(?:l|lit\w+|ml|gal\w*)?)(?![\w%])"
_OUT = re.compile(rf"(?:take out|drain|remove|out)\s+(?:of\s+)?{_VOLUME}", re.I)
_STRENGTH = r"(\d[\d.,]*\s*(?:%|per ?cent)?)"
_ADD = re.compile(rf"(?:add|fill|in|put in)\s+{_VOLUME}\s*(?:at|of|@|with|,)?\s*{_STRENGTH}", re.I)
#: "finish" is not among them: it asks how the parts look.
_DONE = {"done", "finished", "end", "that is all", "that's all", "thats all", "score"}
_HELP = {"help", "?", "h", "hilfe", "what can i do", "what can i say", "what do i do", "what now"}
_MORE = {"more", "show more", "the rest", "next", "all", "path", ""}
#: A slip of the pen in these words is mended (judgement, common practice, no source).
_MENDED, _CLOSE = ("help", "list", "people", "so far"), 0.75
#: The same in a word inside a line: from this length on, and this close.
_LONG, _SLIP = 5, 0.85
#: Further parts of the talk after the score, made once the drill is scored.
Further = Callable[["Drill"], list[Part]]


def _asks_about_people(text: str) -> bool:
    """Whether a line asks about people and danger at large, slips of the pen in the longer words allowed."""
    said = re.findall(r"[a-z]+", text.lower())
    return any(w in _SAFETY or (len(w) >= _LONG and get_close_matches(w, _SAFETY, 1, _SLIP)) for w in said)


class Drill:
    """One trainee at one simulated sump.

    Args:
        rules: the rule base.
        hidden: the sump.
        title: how the drill is called in results.
        further: makes parts of the talk after the score that need more than the drill knows.
    """

    def __init__(self, rules: RuleBase, hidden: Hidden, title: str, further: Further | None = None) -> None:
        self.rules, self.hidden, self.title = rules, hidden, title
        self.run = Run()
        self.score: Score | None = None
        self.over = False
        self.advised: list[Look] = []
        self._lexicon: Lexicon | None = None
        self._offered: tuple[Callable[[str], list[Block]], list[str]] | None = None
        self._further = further
        self._parts: list[Part] = []
        self._part = 0

    def open(self) -> list[Block]:
        """What the trainee sees first: the sump sign and the complaint."""
        sign = "; ".join(facts_words(self.hidden.sign, self.rules)) or "no sign on this sump"
        told = "; ".join(facts_words(self.hidden.opening, self.rules))
        story = self.hidden.story or phrases.sentence(told) or "The operator says: have a look."
        return [
            Block("head", self.title, "DRILL"),
            Block("item", sign, "sump sign"),
            Block("head", story, "COMPLAINT"),
            Block("text", 'Ask for what you want to know. "help" shows how, "done" ends it with a score.'),
        ]

    def say(self, text: str) -> list[Block]:
        """Take in one line and answer it."""
        text = "".join(c if c.isprintable() else " " for c in text).strip()[:400]
        text = _DOSE.sub(r"does \1", text)
        low = text.lower().strip(" .!?")
        if leaves(text):
            return self.leave()
        if self.score is not None:
            return self._talk_over(low)
        if not low:
            return [Block("text", 'Ask for something, or type "help".')]
        if self._offered is not None and low in {"yes", "y"} and len(self._offered[1]) == 1:
            return self._pick(1)
        if self._offered is not None and low.isdigit():
            return self._pick(int(low))
        if low.isdigit():
            return [Block("text", "There is nothing to pick from. Say what you want to know in words.")]
        self._offered = None
        if low in _DONE:
            return self.finish()
        if not topics.observables(self.rules).named(text):
            low = next(iter(get_close_matches(low, _MENDED, 1, _CLOSE)), low)
        if low != "done" and get_close_matches(low, ["done"], 1, _CLOSE):
            return [Block("text", 'To end with a score, type "done".')]
        if low in _HELP or "what can i do" in low:
            return [Block("item", what, label) for label, what in HELP]
        if low in {"list", "what can i ask"}:
            return self._list()
        if low in {"so far", "what do i know"}:
            return self._so_far()
        if low == "people":
            return self._look(policy.SAFETY)
        if topics.observables(self.rules).named(text):
            return self._ask(text)  # "danger now" is a question, not a caution said
        for pattern, work in (
            (_RECIPE, self._recipe), (_NAMED, self._name), (_CAUTION, self._mind), (_DO, self._deed),
            (_ACT, self._act),
        ):  # fmt: skip
            found = pattern.match(text)
            if found:
                return work(found[1])
        return self._ask(text)

    def finish(self) -> list[Block]:
        """Score it, once; what there is to say about it waits for ``more``."""
        if self.score is not None:
            return []
        self.advised, verdict = advisor_path(self.rules, self.hidden)
        self.score = score(self.rules, self.hidden, self.run, self.advised)
        self._parts = debrief_parts(self.rules, self.hidden, self.run, self.advised, verdict)
        self._parts += self._further(self) if self._further else []
        told = score_blocks(self.rules, self.hidden, self.run, self.score, self.advised)
        return [*told, self._next_part()]

    def leave(self) -> list[Block]:
        """End it as it stands; without a score nothing is kept."""
        self.over = True
        return [] if self.score else [Block("text", "Left without a score; nothing is kept.")]

    def _talk_over(self, low: str) -> list[Block]:
        """The next part of the talk after the score; after the last one the first again."""
        if low not in _MORE:
            return [Block("text", 'The drill is over. Type "more" to talk it over, or "q" to leave.')]
        blocks = self._parts[self._part][1]
        self._part = (self._part + 1) % len(self._parts)
        if self._part:
            return [*blocks, self._next_part()]
        return [*blocks, Block("ask", f'{phrases.LAST_PART} "q" leaves.')]

    def _next_part(self) -> Block:
        name, count = self._parts[self._part][0], len(self._parts)
        return Block("ask", f'Type "more" for {name} ({self._part + 1} of {count}), or "q" to leave.')

    # -- asking ------------------------------------------------------------------------------------

    def _ask(self, text: str) -> list[Block]:
        if _asks_about_people(text):
            return self._look(policy.SAFETY)
        found = self._about(text)
        if not found:
            return [
                Block("text", f'I do not know what to look at for "{text[:60]}". "list" shows what there is.')
            ]
        return self._choose(found, self._look, lambda key: self.rules.observables[key].name)

    def _about(self, text: str) -> list[str]:
        """What a line asks for: a name, else what the words would say in a conversation, else the nearest."""
        finder = topics.observables(self.rules)
        if finder.named(text):
            return finder.find(text)
        if self._lexicon is None:
            self._lexicon = Lexicon.from_data(self.rules.data["phrases"], self.rules.data["observables"])
        heard = dict.fromkeys(f.id for f in understand(text, lexicon=self._lexicon).facts)
        told = [key for key in heard if self.rules.observables[key].question]
        found = finder.find(text, sure=topics.ALL_OF_IT)
        if len(told) == 1 and len(found) == 1 and self.rules.observables[found[0]].belongs_to == told[0]:
            return found  # "when does it foam" asks for more than whether it foams
        return told if len(told) == 1 else found

    def _look(self, target: str) -> list[Block]:
        found = look(self.rules, self.hidden, target)
        self.run.looks.append(found)
        if target == policy.SAFETY or target in PEOPLE:
            self.run.asked_people = True
        cost = f"{found.minutes:g} min" + (f", result after {found.hours:g} hours" if found.hours else "")
        if not found.facts:
            return [Block("item", f"Nobody has a figure for that ({cost}).", "-")]
        told = "; ".join(self._told(found.facts))
        return [Block("item", f"{phrases.sentence(told)} ({cost})", "-")]

    def _told(self, facts: Sequence[Fact]) -> list[str]:
        """What looks showed; where there was nothing of the kind, what was looked at all the same."""
        nothing = [f for f in facts if f.status == "ruled_out" and f.value is None and f.id not in SAFE_MEANS]
        names = [self.rules.observables[f.id].name for f in nothing]
        seen = facts_words([f for f in facts if f not in nothing], self.rules)
        return [*seen, *(f"{name}: nothing out of the ordinary" for name in names)]

    def _choose(
        self,
        found: list[str],
        work: Callable[[str], list[Block]],
        name: Callable[[str], str],
        *,
        sure: bool = True,
    ) -> list[Block]:
        """Take the one that is clear; where several could be meant, or not all that was said, ask."""
        if len(found) == 1 and sure:
            return work(found[0])
        self._offered = work, found
        told = "   ".join(f"{i} {name(key)}" for i, key in enumerate(found, 1))
        asked = "Which one?" if len(found) > 1 else 'Is this meant? Type "1", or say it in other words.'
        return [Block("ask", asked), Block("answers", told)]

    def _pick(self, which: int) -> list[Block]:
        work, found = self._offered or (self._look, [])
        if not 1 <= which <= len(found):
            return [Block("text", f"Pick a number from 1 to {len(found)}.")]
        self._offered = None
        return work(found[which - 1])

    def _list(self) -> list[Block]:
        by_place: dict[str, list[str]] = {}
        for item in self.rules.observables.values():
            if item.question and not topics.told_by_number(self.rules, item.id):
                wait = f", {item.wait_h:g} h" if item.wait_h else ""
                by_place.setdefault(item.place, []).append(f"{item.name} ({item.effort:g} min{wait})")
        blocks = [
            Block(
                "item",
                f"complaints and danger at once ({SAFETY_MINUTES:g} min)",
                "people",
            )
        ]
        return blocks + [Block("item", "; ".join(names), place) for place, names in by_place.items()]

    def _so_far(self) -> list[Block]:
        told = [*self.hidden.opening, *(f for one in self.run.looks for f in one.facts)]
        blocks = [Block("item", words, "-") for words in self._told(list(dict.fromkeys(told)))]
        return [*blocks, Block("text", f"So far: {cost_words(self.run.looks)}.")]

    # -- deciding ----------------------------------------------------------------------------------

    def _decided(self) -> None:
        self.run.acted_first = self.run.acted_first or not self.run.asked_people

    def _name(self, text: str) -> list[Block]:
        found = topics.causes(self.rules).find(text)
        if not found:
            return [Block("text", f'I know no cause like "{text[:60]}".')]

        def work(key: str) -> list[Block]:
            self._decided()
            self.run.causes.append(key)
            return [
                Block(
                    "note", f"{self.rules.causes[key].text['title']}. The last cause named counts.", "Named"
                )
            ]

        sure = topics.causes(self.rules).whole(text, found[0])
        return self._choose(found, work, lambda key: str(self.rules.causes[key].text["title"]), sure=sure)

    def _mind(self, text: str) -> list[Block]:
        found = topics.cautions(self.rules).find(text, near=topics.NEAR_DANGER)
        if not found:
            return [Block("text", f'I know no danger like "{text[:60]}".')]

        def work(key: str) -> list[Block]:
            self.run.cautions.append(key)
            told = str(self.rules.cautions[key]["text"]).split(". ")[0]
            return [Block("note", phrases.sentence(told), "Caution said")]

        sure = topics.cautions(self.rules).whole(text, found[0])
        return self._choose(found, work, lambda key: key.replace("_", " "), sure=sure)

    def _deed(self, text: str) -> list[Block]:
        found = topics.deeds(self.rules).find(text)
        if not found:
            return [Block("text", f'I do not know how one would do "{text[:60]}".')]

        def name(key: str) -> str:
            proposed = key.partition(": ")[2]
            held = self.rules.observables["proposed_action"].answers
            return str(held[proposed]["means"]) if proposed else str(self.rules.actions[key]["text"])

        def work(key: str) -> list[Block]:
            self._decided()
            self.run.deeds.append(key)
            return [Block("note", phrases.sentence(name(key)), "You would do")]

        return self._choose(found, work, name, sure=topics.deeds(self.rules).by_name(text, found[0]))

    def _act(self, text: str) -> list[Block]:
        """A deed told without "do"; with litres and a strength it is a recipe."""
        return self._recipe(text) if _ADD.search(text) else self._deed(text)

    def _recipe(self, text: str) -> list[Block]:
        add, out = _ADD.search(text), _OUT.search(text)
        if add is None:
            return [
                Block(
                    "text", 'Write it like "recipe: out 20 L, add 25 L at 1 %"; leave "out" away for nothing.'
                )
            ]
        try:
            litres = parse(_with_unit(add[1], "L"), "L").value
            share = parse(_with_unit(add[2].strip(" .!"), "%"), "fraction").value
            drained = parse(_with_unit(out[1], "L"), "L").value if out else 0.0
        except BadQuantity as trouble:
            return [Block("text", trouble.sentence())]
        self._decided()
        self.run.recipe = Recipe(drained, litres, share)
        told = f"out {round(drained, 1):g} L, in {round(litres, 1):g} L at {round(100 * share, 2):g} %."
        return [Block("note", told, "Recipe")]


def _with_unit(text: str, unit: str) -> str:
    """A bare number in the unit a recipe is spoken of in."""
    text = text.strip(" .,")
    return f"{text} {unit}" if re.fullmatch(r"[\d.,]+", text) else text
