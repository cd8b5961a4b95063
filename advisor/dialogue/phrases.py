"""Every sentence the conversation says of its own accord. Knowledge is worded in ``rules/``.

Short, active, no jargon without its meaning. No sentence here states a fact about coolant.
"""

from __future__ import annotations

GREETING = "Sumpside helps you find out what is wrong with a coolant sump and what to do."
HOW_TO_TYPE = 'Type what you see, in your own words. "help" shows what else you can say.'
CARE = (
    "The product's safety data sheet and your site's rules come first. For burns, eyes, breathing or "
    "fire: get help now, type later."
)
WHAT_DO_YOU_SEE = "What are you seeing?"
SAY_MORE = (
    'I could not use that. Say what you see, smell or read: for example "foam since the new drum", '
    '"smells of rotten eggs", "reads 4.5, target 7".'
)
SAFETY_PLAIN = 'Type "no" if all are well and nothing is wrong. If not, say what it is.'
NUMBER_WANTED = 'This one needs a number. If you do not have it, type "don\'t know".'
WHICH_SUMP = "Which machine is it?"
SAFETY_QUESTION = (
    "Has anyone near it sore skin, sore eyes or a bad chest? Any smoke, stinging air, or work in a pit?"
)
SAFETY_WHICH = 'Which is it? Say it plainly, for example "rash, two people" or "eyes sting".'
FOR_THE_RECIPE = "For the recipe: {question}"
WHILE_THERE = "While you are there, look too: {also}"
CHANGED = "That changes the verdict."
NOTHING_TO_COMPARE = "Noted. Without a strength and a prediction there is nothing to compare."
WHICH_READING = (
    'Is {number} straight off the glass, or already multiplied? Type "read again {number} brix" or '
    '"read again {number} %".'
)
SUMP_TAKEN = '"{said}": I take that as {name}. Type "back" if not.'
ANOTHER_SUMP = "Another machine, then; its book is empty."
STEPS_LEFT = " Then {left} more."
STEP = "STEP "
STEP_OF = STEP + "{number} OF {total}"
BY_STEPS_SHORT = 'Then "done", "steps" or "recipe".'
BY_STEPS = 'Type "done" for the next step, "steps" for all, "recipe" for other ways.'
#: What a verdict leaves for the asking, with its short form: by whether there is something to do, and
#: whether a caution stands.
RESTS = {
    (True, True): (
        'Type "done" for the next step, "more" for reasons, "steps" or "cautions".',
        'Then "done", "more", "steps" or "cautions".',
    ),
    (True, False): (
        'Type "done" for the next step, "more" for the reasons, "steps" for all.',
        'Then "done", "more" or "steps".',
    ),
    (False, True): (
        'Type "more" for the reasons and the rest, "cautions" for all of them.',
        'Then "more" or "cautions".',
    ),
    (False, False): ('Type "more" for the reasons and the rest.', 'Then "more".'),
}
MANY_NOTED = '{count} things; "so far" lists them.'
SHORTENED = 'Cautions are cut short here: "cautions" tells each with its steps.'
POINTS_TO = '"{answer}" would speak for: {cause}'
PART_WHY = "the reasons and what else it could be"
PART_STEPS = "every step"
PART_AFTER = "when to look again and what prevents it"
NEXT_PART = 'Type "more" again for {what}.'
LAST_PART = "That is all there is."
NOTHING_MORE = "There is nothing more to tell yet."
PASSED_OVER = "(passed over) "
TICKED = "(done) "
NO_RECIPE = "There is no recipe yet."
NO_CAUTIONS = "No caution stands."
SAFE = "nobody with complaints, no danger now."
SAFE_BUT = "nothing more than was told before."
UNCLEAR = '"{said}": say {choices}.'
STILL_UNCLEAR = "STILL UNCLEAR"
WHICH_MEANT = '"{said}": which is meant?'
NOTHING_NOTED = "Nothing is noted yet."
WAS = "was"
NOTHING_TO_UNDO = "There is nothing to take back yet."
TAKEN_BACK = "Taken back: {what}. We are where we were before that."
ASKED_AGAIN = "Asked again:"
NO_VERDICT_YET = "There is no verdict yet; that was about the question."
ONE_MOMENT = "One moment ..."
PAGE_ON = "There is more: press Enter, or type on."
LEAVING = "Leave now? Everything is saved. Type yes to leave, or go on."
LEAVING_DESK = "Leave now? Type yes to leave, or go on."
SAVED = 'Saved as case {case}. Come back with "sumpside" and it is offered again.'
SAVED_DONE = "Saved as case {case}."
HALF_FINISHED = "Case {case} is half finished{about}. Go on with it? (yes or no)"
RESUMED = "Good. This is where you were:"
FRESH = "Then a new one."
UNUSED = "(not used: {words})"
DONT_KNOW = "Fine, we go on without it."
SKIPPED = "Skipped."
STEP_OPEN_AGAIN = "Not ticked any more; this step is open again:"
STEP_DONE = "Step {number} of {total} ticked."
SAME_VERDICT = "That does not change the verdict or what to do."
ANYTHING_ELSE = 'Tell me more if something changes, or type "stop here" to finish.'
AFTER_THE_FIX_SHORT = 'After the fix type what it reads, with "brix" or "%".'
ANYTHING_SHORT = 'Tell me more, or type "stop here".'
AFTER_THE_FIX = 'After the fix type what it reads, with "brix" or "%". Or "stop here" to finish.'
NO_MACHINE = "no machine named"
RESUME_ABOUT = " ({sump}, {events} entries)"
AGAINST = "{what}. That does not fit: {because}"
WHAT_IF_SAME = "Nothing changes: the verdict and what to do first stay the same."
WHAT_IF_KEEP = 'Nothing is recorded. Type "keep it" to take it into the case.'
KEPT = "Kept. It now counts."
NOTHING_TO_KEEP = "There is no trial answer to keep."
EMERGENCY_NEXT = 'Type "it is dealt with" when the person is safe and help has been called.'
NOT_YET = (
    'First this. Type "it is dealt with" or "erledigt" when the person is safe and help has been called.'
)

HELP = (
    ("in your own words", "what you see, smell, read or did; several things in one line are fine"),
    ("a number", "with or without its unit, when a number was asked for"),
    ("1, 2, 3 …", "picks one of the offered answers"),
    ("don't know, skip", "goes on without that answer"),
    ("no, it was 6", "corrects what was noted"),
    ("why", 'why I ask, or why I say so; "why not lean" works too'),
    ("what if pH was 8.2", "tries an answer without recording it"),
    ("how sure", "how far it is proven, and what would change it"),
    ("so far", "everything noted up to now"),
    ("back", "takes back your last answer"),
    ("more", "the rest of a verdict, part by part"),
    ("steps", "every step, of the recipe where there is one"),
    ("recipe", "the whole recipe, with other ways and what was assumed"),
    ("cautions", "every caution that stands, in full"),
    ("done, skip", "ticks the next step, or passes it over"),
    ("3 pails in", "what strength the pails so far make"),
    ("read again 7.1 %", "the reading after the fix (say brix when it is straight off the glass)"),
    ("stop here", "gives the best verdict now and saves"),
    ("Ctrl-D", "saves and leaves"),
)

RUN_DOWN = (
    "From {now} now it would stand near {then} at half level, if {share} % of what is lost is water "
    "(common practice, no source)."
)
WHAT_IS = "What is the {name}?"
PROVES = "It proves or clears: {cause}."
TELLS_APART = "It tells the likely causes apart."
TELLS_APART_PAIR = "It tells apart whether {one} or {other}."
COULD_CHANGE = "It could change what to do first in {chance} cases."
WINDOW_IS = "The window is {origin}."
NOT_SURE_OF = "Not sure of: {what}. Check before pouring."
TAKEN_AS_RUN = "Taken as run through all circuits since the last addition."
SAY_VOLUME = "Say how much the sump holds when full; then it is worked out."
STRENGTH_UNKNOWN = "The present strength is not known."
SAY_FACTOR_USED = "Say if the reading was already multiplied by the product's factor."
GIVE_FACTOR = "Give the product's factor from its data sheet."
WHERE_TO_LOOK = "It tells me where to look first."
NO_CAUSE_YET = "Nothing speaks for any one cause yet."
LIKELIER = "It makes this likelier."
NO_SUCH_CAUSE = 'I know no cause called "{said}". Try a word such as lean, tramp oil, bacteria.'
NOT_POINTED_TO = "Nothing you told me points there ({chance})."
HANGS_MOST_ON = "It hangs most on: {what}. Check that one again."
ALSO = "And also:"
HANGS_MOST_ON_ONLY = "It hangs most on: {what}. Do not go back to check that."
HANGS_ON = "{what}. Look or read that once more."
HANGS_ON_ONLY = "{what}. Do not go back to check that."
NOTHING_WRONG_FOUND = "Nothing wrong found."
NOTHING_AGAINST = "nothing you told me"
NOTHING_LEFT = "no complaint is left unexplained, and no danger was reported"
MORE_STEPS = '{left} more steps: type "more".'
HANDS_TO = "This goes to: {who}."
NOT_USED = 'I could not use "{said}".'
NOT_AN_ANSWER = 'I could not use "{said}" as an answer.'
OUTSIDE_LIMITS = "{value} is outside what is possible; give {span}."
WHAT_IF_HOW = 'I could not use "{said}". Try "what if pH was 8.2".'
TOO_LONG = (
    "That line is too long ({count} characters). Write the main thing in a sentence or two. Nothing noted "
    "before is lost."
)
WHY_SUMP = "The shop book knows its size, product and window."
WHY_SAFETY = "People come before the sump."
WHY_SAFETY_FIRST = "This comes before any mixing."
WHY_OPENING = "It costs nothing to ask and often gives the answer away."
WHY_HOW_READ = "The recipe stands on that reading, and is as good as it was taken."

#: What the Tab key offers beside the answers of a question, with its meaning.
REQUESTS = {
    "why": "why I ask, or why I say so",
    "back": "take back the last answer and mend it",
    "so far": "everything noted",
    "more": "the rest of the verdict",
    "steps": "every step",
    "cautions": "every caution, in full",
    "how sure": "how far it is proven",
    "what if": "try an answer without recording it",
    "don't know": "go on without it",
    "stop here": "the best verdict now, and save",
    "help": "what can be typed",
}
TO_TICK = {"done": "this step is done; the next one", "skip": "pass this step over"}
WITH_RECIPE = {
    "read again": "the reading after the fix",
    "recipe": "the whole recipe and other ways",
}
#: The same while a step of a check is open.
STEP_IS_DONE = "this step is done"
CANNOT = "it cannot be done or read so"
ON_A_STEP = {"skip": "pass this step over", "skip all": "leave the rest of the check"}
ALL_OR_NONE = {"all": "all of these are done", "none": "none of them"}
SO_OR_NOT = {"yes": "it is so", "no": "it is not so"}
LEAVE_IT = "go on without looking again"
NO_SUMP = {"another one": "none of these"}
WENT_IN = {"all": "the whole recipe", "nothing": "not a drop yet", "half": "about half of it"}
ANSWER_TO = "{number}  {name}"
MEANT_BY = 'meant by "{said}"'
NOBODY = "nobody has complaints"
NOBODY_MEANS = "no sore skin, eyes or chest, no smoke"
DEALT_WITH = "it is dealt with"
DEALT_WITH_MEANS = "the person is safe, help was called"
FROM_THE_BOOK = "from the shop book"
NO_CASE = "no case yet | Tab: answers | Ctrl-D: save and leave"
UNITS = {"metric": "litres", "us": "US gallons", "imperial": "imperial gallons"}
SETTLED = {
    "named": "cause named: {chance}",
    "unsettled": "not settled: best guess {chance}",
    "outside": "not for this",
    "asking": "still asking: best guess {chance}",
}
SETTLED_PLAIN = {"named": "cause named", "unsettled": "not settled", "asking": "still asking"}
OPEN = "{count} unclear"
CASE = "case {case}"
KEYS = "Ctrl-D: save and leave"

WHO = {
    "operator": "You",
    "supervisor": "Supervisor",
    "maintenance": "Maintenance",
    "specialist": "Fluid specialist or supplier",
    "licensed": "Licensed person or firm",
}
RUN = {
    "run": "Yes, it can run.",
    "limits": "Only with limits.",
    "stop": "No. Stop it and keep it stopped.",
}
#: The same where one thing has to be done before it runs.
NOT_YET_RUN = "Not yet."
#: The first thing to do, once more on a screen that runs over.
FIRST = "First: {step}"
UNSETTLED = "Not enough is known yet to name one cause."
OUTSIDE_STRAIGHT_OIL = (
    "This is straight oil, not a water mix. Nothing here applies to it: ask the oil's supplier, and keep "
    "water away from it."
)
OUTSIDE = (
    "This is not about the coolant of a machine tool, so I cannot judge it. Ask the maker of the thing. If a "
    "sump is in trouble too, say which machine and what you see."
)
PARTS = "Parts made since the last good reading: check them before they go on."
HELP_WHEN = "Stop and get help"


def points_to(answer: str, cause: str) -> str:
    """What an answer would speak for, as one sentence."""
    return sentence(POINTS_TO.format(answer=answer, cause=cause.rstrip(".")))


def chance(p: float) -> str:
    """A probability in words: "about 6 in 10"; per cent is kept for strength."""
    if p >= 0.97:
        return "more than 19 in 20"
    if p >= 0.93:
        return "about 19 in 20"
    if p < 0.05:
        return "less than 1 in 20"
    return f"about {max(1, round(p * 10))} in 10"


def weight_words(ratio: float) -> str:
    """How far one observation speaks for or against, in words, with the number beside it."""
    size = ratio if ratio >= 1 else 1 / max(ratio, 1e-6)
    word = "a little" if size < 2 else "clearly" if size < 6 else "strongly" if size < 20 else "very strongly"
    return f"{word} ({size:.0f} times)" if size >= 2 else f"{word} ({size:.1f} times)"


def listed(items: list[str], joiner: str = "and") -> str:
    """Items as a person would list them."""
    if len(items) < 2:
        return "".join(items)
    return f"{', '.join(items[:-1])} {joiner} {items[-1]}"


def lower_first(text: str) -> str:
    """A sentence's first letter small, unless it begins with a short form such as pH."""
    return text[0].lower() + text[1:] if text[1:2].islower() and text[0] != "I" else text


def sentence(text: str) -> str:
    """First letter large, a full stop at the end."""
    text = text.strip()
    if not text:
        return text
    text = text if text.startswith("pH") else text[0].upper() + text[1:]
    return text if text.endswith((".", "!", "?", ":")) else text + "."
