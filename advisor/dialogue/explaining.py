"""Answers to why, why not, what if, how sure, so far and help. Nothing here is recorded."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

from advisor.dialogue import phrases, phrases_led, policy, procedures
from advisor.dialogue.answer import between, may_be_repeated
from advisor.dialogue.blocks import Block
from advisor.dialogue.case import LATEST, CaseState
from advisor.dialogue.hanging import hangs_on, strongest, told, what_would_change
from advisor.dialogue.noted import noted_blocks
from advisor.dialogue.phrases_limits import limit_sentence, voices, worth_telling
from advisor.dialogue.screens import fact_words, full_reason, led_by, run_words
from advisor.inference.assess import Assessment, Judged, judged_alone
from advisor.inference.evidence import NOTHING_WRONG
from advisor.inference.outcomes import points
from advisor.inference.questions import filled_node
from advisor.knowledge.facts import Fact
from advisor.knowledge.loader import nearest
from advisor.knowledge.rulebase import Observable

if TYPE_CHECKING:
    from advisor.dialogue.session import Session

#: A sign shown at least this often by a cause is missed when nobody has told it.
OFTEN = 0.5


class Explainer:
    """Explains the present state of one session."""

    def __init__(self, session: Session, state: CaseState) -> None:
        self.session, self.state = session, state
        self.rules = session.rules

    def answer(self, request: Any) -> list[Block] | None:
        """The blocks for one request, or None when it is not one of these."""
        work = {
            "why": self.why,
            "so_far": self.so_far,
            "help": self.help,
            "how_sure": self.how_sure,
            "what_would_change": self.what_would_change,
        }.get(request.kind)
        if work is not None:
            return work()
        if request.kind == "why_not":
            return self.why_not(request.text)
        return None

    def help(self) -> list[Block]:
        """What can be typed."""
        return [Block("item", text, label) for label, text in phrases.HELP]

    def so_far(self) -> list[Block]:
        """Everything noted, the latest of each, and what is still unclear."""
        shop, doubts = self.session.shop, self.session.doubts.held
        return noted_blocks(self.state.facts, self.rules, shop.system, doubts)

    def why(self) -> list[Block]:
        """Why the open question is asked; without one, why the verdict is what it is."""
        move = self.session.last_move
        repeating = (self.state.expecting or "").startswith(procedures.AGAIN)
        if move.name == "ask" and self.state.expecting and not repeating:
            return self._why_question(move)
        return self._why_verdict(self.session.view(state=self.state))

    def _why_question(self, move: policy.Move) -> list[Block]:
        view = self.session.view(state=self.state)
        why = move.why
        if move.question is not None:
            pair = between(view, move.question.between)
            why = f"{pair} {phrases.COULD_CHANGE.format(chance=phrases.chance(move.question.changes))}"
        item = self.rules.observables.get(move.target or "")
        blocks = [Block("text", why or phrases.WHERE_TO_LOOK)]
        blocks += self._points(view, item) if item is not None else []
        if item is not None and item.costly:
            blocks.append(Block("text", phrases.sentence(item.costly)))
        return blocks + self.session.question(again=True)

    def _points(self, view: Assessment, item: Observable) -> list[Block]:
        """What the answers to a question would speak for, in words."""
        filled = filled_node(view.known, item) or item.id
        means, causes = self.rules.observables[filled].answers, self.rules.causes
        return [
            Block("item", phrases.points_to(str(means[answer]["means"]), causes[cause].plain))
            for answer, cause in points(self.rules, view.belief, filled)
        ]

    def _why_verdict(self, view: Assessment) -> list[Block]:
        if view.chain[:1] == (NOTHING_WRONG,):
            return led_by(view)
        wanted = list(view.chain) or [j.id for j in view.causes[:1]]
        judged = [j for j in view.causes if j.id in wanted]
        blocks: list[Block] = []
        for one in judged[:3]:
            if one.id == NOTHING_WRONG:
                continue
            blocks.append(Block("head", self._title(one), "WHY"))
            blocks += [Block("item", full_reason(view, r), "for") for r in one.speaks_for[:5]]
            blocks += [Block("item", full_reason(view, r), "against") for r in one.against[:3]]
            blocks += self._context(view, one.id)
        told = [r.node for one in judged[:3] for r in (*one.speaks_for[:5], *one.against[:3])]
        blocks += self._limits(view, told)
        return blocks or [Block("text", phrases.NO_CAUSE_YET)]

    def _context(self, view: Assessment, cause: str) -> list[Block]:
        """What made the cause likelier before any sign: water, metal, season, what happened."""
        from advisor.inference.program import program

        prog = program(self.rules)
        held = [f for condition, f in prog.favours[cause] if prog.true(condition, view.known)]
        return [
            Block(
                "item",
                f"{phrases.sentence(f.because or phrases.LIKELIER)} "
                f"Odds {f.word}; {self.rules.cite(f.sources)}.",
                "context",
            )
            for f in held[:3]
        ]

    def _limits(self, view: Assessment, nodes: list[str]) -> list[Block]:
        """Which limits the numbers behind the reasons were held against, and who says otherwise."""
        blocks: list[Block] = []
        limits = [view.known.limits[node] for node in dict.fromkeys(nodes) if node in view.known.limits]
        for held in [limit for limit in limits if worth_telling(limit)][:3]:
            blocks.append(Block("item", limit_sentence(self.rules, held, self.session.shop.system), "limit"))
            blocks += [Block("item", text, "differs") for text in voices(self.rules, held)]
        return blocks

    def _title(self, judged: Judged) -> str:
        cause = self.rules.causes[judged.id]
        sure = "" if cause.referral else f" ({phrases.chance(judged.probability)})"
        return phrases.sentence(cause.plain.rstrip(".") + sure)

    def why_not(self, text: str) -> list[Block]:
        """Why a cause the person names does not lead."""
        cause = self._cause_named(text)
        if cause is None:
            return [Block("text", phrases.NO_SUCH_CAUSE.format(said=text[:40]))]
        view = self.session.view(state=self.state)
        judged = judged_alone(view, cause)
        blocks = [Block("head", self._title(judged), "WHY NOT")]
        blocks += [Block("item", full_reason(view, r), "against") for r in judged.against[:4]]
        blocks += [Block("item", full_reason(view, r), "for") for r in judged.speaks_for[:3]]
        blocks += [Block("item", text, "missing") for text in self._missing(view, cause)]
        for other in self.rules.causes[cause].text.get("look_alikes", []):
            if other["cause"] in view.chain:
                blocks.append(Block("item", other["tell_apart"], "tell"))
        return blocks

    def _missing(self, view: Assessment, cause: str) -> list[str]:
        """The strongest signs of a cause that nobody has told, with how often it shows them."""
        found = []
        for sign in self.rules.causes[cause].signs:
            answer = max(sign.chances, key=lambda a: sign.chances[a])
            item = self.rules.observables.get(sign.node.partition(":")[0])
            if view.known.status(sign.node) is not None or sign.chances[answer] < OFTEN or item is None:
                continue
            value = sign.node.partition(":")[2].strip() or (answer if answer in item.answers else None)
            what = fact_words(Fact(item.id, value, None), self.rules) if value else item.name
            word = sign.words[answer].replace("_", " ")
            found.append((sign.chances[answer], phrases_led.NOT_TOLD.format(what=what, word=word)))
        return [text for _, text in sorted(found, key=lambda pair: -pair[0])[:2]]

    def _cause_named(self, text: str) -> str | None:
        low = text.lower().strip(" ?.!")
        names: dict[str, str] = {}
        for key, cause in self.rules.causes.items():
            names[key.replace("_", " ")] = key
            names[str(cause.text["title"]).lower()] = key
        if low in names:
            return names[low]
        inside = sorted((n for n in names if low and (low in n or n in low)), key=len)
        if inside:
            return names[inside[0]]
        told = [
            k for k, c in self.rules.causes.items() if low and low in f"{c.plain} {c.text['means']}".lower()
        ]
        near = nearest(low, names)
        marginals = self.session.view(state=self.state).belief.marginals
        return max(told, key=lambda k: marginals.get(k, 0.0)) if told else names[near] if near else None

    def how_sure(self) -> list[Block]:
        """How far the verdict is proven, the answer it hangs on most, and what would change it."""
        view = self.session.view(state=self.state)
        lead = view.causes[0] if view.causes else None
        if lead is None:
            return [Block("text", phrases.NO_CAUSE_YET)]
        blocks = [Block("head", self._title(lead), "HOW SURE")]
        hanging = hangs_on(self.session, self.state, view, told(self.state))
        if hanging is not None:
            what = fact_words(hanging.fact, self.rules, self.session.shop.system)
            most = phrases.HANGS_MOST_ON if may_be_repeated(hanging.fact) else phrases.HANGS_MOST_ON_ONLY
            blocks.append(Block("text", most.format(what=what)))
            if hanging.carries(view):
                without = phrases_led.WITHOUT.format(lead=self._lead_words(hanging.without))
                blocks.append(Block("text", without))
        for question in view.questions[:2]:
            item = self.rules.observables[question.id]
            could = phrases.COULD_CHANGE.format(chance=phrases.chance(question.changes))
            blocks.append(Block("item", f"{item.question} {could}", "check"))
        proof = self.rules.causes[lead.id].text.get("prove_by")
        if proof:
            blocks.append(Block("item", f"Proven by: {self.rules.observables[proof].name}.", "proof"))
        return blocks

    def what_would_change(self) -> list[Block]:
        """The answers still open that would change the verdict, and the one it hangs on."""
        view = self.session.view(state=self.state)
        blocks = [Block("head", self._lead_words(view), "NOW")]
        found = what_would_change(self.session, self.state, view)
        for what, then in found[:5]:
            text = phrases_led.IF_SO.format(what=what, lead=phrases.lower_first(self._short(then)))
            blocks.append(Block("item", text, "if"))
        hanging = hangs_on(self.session, self.state, view, strongest(self.state, view))
        if hanging is not None and hanging.carries(view):
            what = fact_words(hanging.fact, self.rules, self.session.shop.system)
            text = phrases_led.WITHOUT.format(lead=phrases.lower_first(self._short(hanging.without)))
            blocks.append(Block("item", f"{phrases.sentence(what)} {text}", "hangs on"))
        return blocks if len(blocks) > 1 else [*blocks, Block("text", phrases_led.NOTHING_WOULD)]

    def _short(self, view: Assessment) -> str:
        """What a judgement comes to, without what to do."""
        if view.verdict == "unsettled" or not view.chain:
            return phrases.UNSETTLED
        if view.chain[0] == NOTHING_WRONG:
            return "Nothing wrong found."
        return self._title(next(j for j in view.causes if j.id == view.chain[0]))

    def compare(self, extra: list[Fact]) -> list[Block]:
        """What would change if these facts held as well; nothing is recorded."""
        now = self.session.view(state=self.state)
        tried = [replace(fact, event=LATEST) for fact in extra]
        then = self.session.view([*self.state.facts, *tried], self.state)
        said = phrases.listed([fact_words(f, self.rules, self.session.shop.system) for f in extra])
        blocks = [Block("note", f"{said}.", "If")]
        if (now.verdict, now.chain, now.run, now.actions[:1]) == (
            then.verdict,
            then.chain,
            then.run,
            then.actions[:1],
        ):
            blocks.append(Block("text", phrases.WHAT_IF_SAME))
        else:
            blocks.append(Block("head", self._lead_words(then), "THEN"))
            blocks.append(Block("head", self._lead_words(now), "NOW"))
            fresh = [c for c in then.cautions if c not in now.cautions]
            blocks += [Block("item", self.rules.cautions[c]["text"], "care") for c in fresh[:3]]
        return [*blocks, Block("text", phrases.WHAT_IF_KEEP)]

    def _lead_words(self, view: Assessment) -> str:
        run = run_words(view)
        if view.verdict == "unsettled" or not view.chain:
            return f"{phrases.UNSETTLED} {run}"
        if view.chain[0] == NOTHING_WRONG:
            return f"{phrases.NOTHING_WRONG_FOUND} {run}"
        lead = next(j for j in view.causes if j.id == view.chain[0])
        first = self.rules.actions[view.actions[0]]["text"] if view.actions else ""
        return f"{self._title(lead)} {run} First: {first}"
