"""What is said to a question that the person asks, and before anything is known."""

from __future__ import annotations

TOO_LITTLE = "I know too little to say."
TOO_LITTLE_WHY = "Until then treat it as not safe to run."
#: A cause is named, and nobody said how the people are.
IF_WELL = "Yes, if all are well."
NO_LIMITS = "There are no limits as far as I know now."
#: The machine may run, but a stop keeps people off its coolant, or comes first.
PEOPLE_OFF = "It may run, with limits, but people stay off its coolant: see STOP."
STOP_FIRST = "Only with limits, and what STOP says comes first."
HOW_MUCH = (
    "You ask how much; I note nothing of it. Coolant and water: tell me the strength, the target and how "
    "full it is, and I work it out. Anything else: nothing goes in before its label, its data sheet and your "
    "supplier say how much."
)
MEANING = (
    "You ask what that is; I note nothing of it. The product's data sheet or your supervisor tells it best."
)
ONLY_ASKED = (
    'You ask; I note nothing of it. Say what you would do as a plan, such as "can we add water", and I say '
    "what stands against it."
)
TRY_LOOKING = (
    "Then look at one of these and type what you find. What colour is the fluid, and what floats on it? Does "
    "it smell, from a step away? Is there foam? How full is it? What does the glass read? Do parts rust?"
)
OFFER_AGAIN = 'I could not tell yes from no. Type "yes" to go on with case {case}, or "no" for a new one.'
STANDS_OPEN = "In case {case}{about} a stop still stands. Go on with it? (yes or no)"
