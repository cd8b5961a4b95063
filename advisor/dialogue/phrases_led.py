"""What is said while a person is led through a check, a recipe, or the reading after it."""

from __future__ import annotations

STEP = "Step {number} of {total}: {text}"
#: After the first step only.
HOW_STEP = 'Type "done" when it is. "don\'t know" passes one step over, "skip" leaves the check.'
HOW_NUMBER = '"don\'t know" passes it over, "skip" leaves the check.'
TYPE_IT = "Type what it shows."
LEFT = "Then we leave that check. Nothing is poured on a reading in doubt."
PASSED = "Fine, without that step."
LIST = "How was it read? Which of these are done?"
LIST_ONE = "How was it read? Is this done?"
HOW_LIST = 'Type "all", the numbers that are done, or "none": then I lead you through the rest.'
LIST_WRONG = 'Pick from 1 to {last}, for example "1 3", or type "all" or "none".'
DOUBLED = "{read} on the thinned sample is {whole} on the whole one."
TWICE_AGREE = "Twice the same, within what the instrument can tell."
OFFER = 'To be led through a check of it, type "{words}".'
TAKEN = "Not told, taken as done: {steps}."
CAREFUL = "NOT SO FAST"
CAME_TO = "WHAT IT TELLS"
