"""What is said while a person is led through a check, a recipe, or the reading after it."""

from __future__ import annotations

STEP = "Step {number} of {total}: {text}"
#: After the first step only.
HOW_STEP = 'Type "done" when it is. "skip" passes one step over, "skip all" leaves the rest of the check.'
HOW_NUMBER = '"skip" passes it over, "skip all" leaves the rest of the check.'
TYPE_IT = "Type what it shows."
LEFT = "Then we leave the rest of that check. Nothing is poured on a reading in doubt."
LEFT_REST = "Then we leave the rest of that check."
PASSED = "Fine, without that step."
LIST = "How was it read? Which of these are done?"
LIST_ONE = "How was it read? Is this done?"
HOW_LIST = 'Type "all", the numbers done, or "none"; I lead you through the rest.'
LIST_WRONG = 'Pick from 1 to {last}, for example "1 3", or type "all" or "none".'
LIST_WHICH = 'Which of the {last}? Type their numbers, such as "1 3", or "all" or "none".'
BACK_IF_NOT = 'If one is not done, type "back".'
DOUBLED = "{read} on the thinned sample is {whole} on the whole one."
TWICE_AGREE = "Twice the same, within what the instrument can tell."
OFFER = 'To be led through a check of it, type "{words}".'
TAKEN = "Not told, taken as done: {steps}."
CAREFUL = "NOT SO FAST"
CAME_TO = "WHAT IT TELLS"
READ_IT = 'Type what it reads (add "brix" or "%").'
AFTER_ALL = 'Run it round, then read. What does it read now? (add "brix" or "%")'
NOT_TICKED = 'Steps {first} to {last} are not ticked. I take them as done; type "back" if not.'
NOT_TICKED_ONE = 'Step {step} is not ticked. I take it as done; type "back" if not.'
NOTHING_TO_TICK = "There is nothing to tick yet."
RECIPE_FIRST = "That step needs its recipe first."
DONE_OR_SKIP = 'Is this step done? Type "done", or "skip" to pass it over.'
HOW_TICK = 'Type "done" when it is, or "skip" to pass it over.'
#: What a step has put right.
GONE = "{what}. It worked; the verdict stands."
LEFT_TO_DO = "Left to do, so that it stays away:"
COUNTED = "With {litres} in it should read about {told}, once run round. Here the steps are ticked."
COUNTED_LATER = "Pails are counted with the reading after them; here the steps are ticked."
STEP_DONE_YET = 'Type "done" once it is.'
NOT_BY_THIS = "Pour nothing by that recipe: its figures no longer hold. First this."
STEP_PASSED = "Step {number} of {total} passed over."
ALL_ACTS_DONE = 'That was the last step. Type what you see and read then, or "stop here" to finish.'
WHY_FOUND = "What this step finds out may change what to do next."
STEPS_CLOSED = "The recipe waits: pour nothing until that is settled."
RECIPE_ANEW = "That changes the recipe. Go by this one."
NO_RECIPE_NOW = "By that, no recipe is called for any more. Pour nothing."
UNDER_WAY = (
    "The recipe under way goes by the old figures. Finish it so, or read again first: the next recipe goes "
    "by the new ones."
)
#: The other depth, where one was told.
DEPTH_WHEN_FULL = "{said}: kept. How deep is it when full, up to the mark?"
DEPTH_NOW = "{said} when full: kept. How deep is it now, with the pump stopped?"
#: What a low bare number may be where it was asked how full the tank is.
PER_CENT_FULL, ON_GLASS = "% full", "brix on the glass"
#: What a lone volume may be; each, said behind it, is read as such.
THE_PAIL, THE_SUMP = "pail", "sump volume"
NOT_READ = 'I find no reading in "{said}". Type the number and its unit, such as "6.5 {unit}".'
A_SLIP = "{shown}? Was it {tenth}? Type it with its point. If {shown} is right, type your line again."
WHAT_WENT_IN = "Not all steps are ticked. How much of the recipe went in?"
HOW_POURED = 'Type "all", "nothing", or how much, such as "{pails} pails" or "{litres}".'
WHY_POURED = "A reading can only be judged against what was poured."
IF_FULL = ", if it stands full to the mark: look first"
LATER = "as the level falls: about {litres} more of the same mix, one pail at a time"
ONLY_LATER = "nothing goes in now; as the level falls, one such pail at a time, about {litres} in all"
ALL_DONE = "All steps are ticked, and the reading is in."
#: What a reading after the fix came to: the label and the sentence.
RESULTS = {
    "worked": ("IT WORKED", "{got}, as predicted ({span}). The fix worked. Read again tomorrow."),
    "outside": ("AS PREDICTED", "{got}, as predicted ({span}), and still outside the window."),
    "on_the_way": ("ON THE WAY", "{got}, on the way to {aimed}. Go on with the steps that are left."),
    "so_far": ("RIGHT SO FAR", "{got}, where {span} was expected at this step. Go on."),
    "nothing_in": ("NOTHING WENT IN", "Then {got} is no miss. The recipe goes by what it reads now."),
    "part_in": ("RIGHT SO FAR", "{got}, and with {litres} in, {span} was expected. Here is the rest."),
    "missed": ("NOT AS PREDICTED", "{got}, but {aimed} was predicted ({span})."),
}
SECOND_COUNTS = "The two readings differ. The second counts: run round, zeroed, read twice."
INSIDE = "It stands inside its window all the same: add nothing more."
NAME_SAID = (
    '{names} reads like the name of a person. Health trouble is counted here, never named: say "take the '
    'name out", and it is struck from what is kept.'
)
NAME_STRUCK = "{names} is struck from what is kept; the rest of the line stays."
CLOSED = 'No further recipe here: get the help named above. Type "stop here" to finish.'
HANGS_ON_READING = "The verdict hangs on that reading, and is as good as it was taken."
HANGS_ON_ANSWER = "The verdict hangs on this one answer."
FOR_THE_VERDICT = "It all hangs on that reading. {question}"
AGAIN = "All of this hangs on one answer: {what}. Look once more: is it so?"
AGAIN_LOOK = 'Type "yes", "no", what it is instead, or "skip".'
AGAIN_NUMBER = 'Type what it reads this time, or "skip".'
TWICE_SAME = "Twice the same: so it stands."
NOT_THE_SAME = "Not the same as before. I go by the new one."
WITHOUT = "Without it: {lead}"
NOTHING_WOULD = "No answer that is quick to find would change it."
IF_SO = "{what}: {lead}"
NOT_TOLD = "{what}: {word} with it, and not told"
WAS_IT = "Was it {words}?"
HOW_ROW = 'Type "yes", or "no": then I lead you through it.'
#: What stands from a case before at the sump chosen, and what lifts it.
STILL = {"stop": "STILL: STOP", "emergency": "STILL: EMERGENCY"}
STILL_FROM = "From case {case} ({date}): {told}"
STILL_LIFT = 'Type "dealt with" once that is put right.'
STILL_REST = STILL_LIFT + ' Type "stop here" to finish.'
STILL_UNTIL = STILL_LIFT + " Until then I work out no recipe."
PUT_RIGHT = "Noted: what stood from case {case} is put right."
NOT_BEFORE = "Not before this: {this}"
#: A stop whose facts are put right, and one that a line did lift.
NOT_BY_WORDS = "You put that right, but words alone do not lift this stop."
STANDS_NO_LONGER = "This stop stands no longer: {told}"
NONE_WHILE = "No recipe while this stands."
LIFTED = "Noted: what stopped the machine is dealt with."
#: Another conversation's recipe for the same sump that is not done.
LEFT_OPEN = (
    "A recipe for this sump is still open: case {case}, {who}, {when}, {done} of {steps} steps ticked. "
    'Finish that one before another. "sumpside today" shows how many pails are in.'
)
PUT_RIGHT_MEANWHILE = "What stood from case {case} was put right meanwhile."
PUT_RIGHT_HERE = (
    "Noted: that is put right, and stands at this sump no longer. This case keeps its verdict. For how the "
    'sump is now, type "stop here" and begin anew.'
)
#: Another machine of the shop, named in the middle of a case.
OTHER_SUMP = "Is that {name}? Then this case stays saved and a new one begins. (yes or no)"
OTHER_BEGUN = "Case {case} stays saved. A new one begins at {name}."
OTHER_NOT = "Then it counts here, for {sump}."
OTHER_BESIDE = "That is about {name}; nothing of it counts here, for {sump}."
OTHER_KEPT = "Kept, but first this:"
OTHER_DROPPED = "Then that line counts nowhere."
#: Something unknown that somebody wants to put in.
UNKNOWN_IDEA = (
    'What is "{name}"? Put nothing in before that is known. Read its label and data sheet, and ask the '
    "coolant supplier."
)
STILL_UNKNOWN = '"{said}": that tells me too little. It stays out until the coolant supplier has agreed.'
