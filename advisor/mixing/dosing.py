"""Dosing an additive by its label, and by nothing else.

This program knows no dose of any biocide, defoamer or booster. It only does the arithmetic of figures that
the person reads off the label in hand, and keeps to the label's maximum.
"""

from __future__ import annotations

from dataclasses import dataclass

from advisor.errors import BadInput, Refused


@dataclass(frozen=True, slots=True)
class Dose:
    """A dose by the label.

    Attributes:
        amount_l: litres to add now in all.
        portions: how many equal parts it goes in.
        portion_l: litres in each.
        most_l: litres the label allows in this sump in all.
        sentences: what to mind.
    """

    amount_l: float
    portions: int
    portion_l: float
    most_l: float
    sentences: tuple[str, ...]


def dose(
    present_l: float,
    label_amount_l: float | None,
    label_per_l: float | None,
    label_most_l: float | None,
    already_l: float = 0.0,
    portions: int = 2,
) -> Dose:
    """The dose the label gives for the coolant that is in the sump now.

    Args:
        present_l: coolant in the sump, litres.
        label_amount_l, label_per_l: the label's dose: so many litres to so many litres of coolant.
        label_most_l: the label's maximum for the same quantity of coolant.
        already_l: litres of it already in the sump and still counting by the label.
        portions: equal parts it is spread over, 2 or more (DGUV Regel 109-003, Annex 6 no. 5: slowly).

    Raises:
        Refused: a figure of the label is missing, or the dose would go beyond the label's maximum.
        BadInput: figures that cannot be.
    """
    if label_amount_l is None or label_per_l is None or label_most_l is None:
        raise Refused(
            "no dose without the label's own figures",
            right="read off the label the dose, the coolant volume it is meant for and the most allowed, and "
            "have the supervisor confirm them",
        )
    _check(present_l, label_amount_l, label_per_l, label_most_l, already_l, portions)
    wanted, most = label_amount_l * present_l / label_per_l, label_most_l * present_l / label_per_l
    if already_l + wanted > most * (1 + 1e-9):
        raise Refused(
            f"with {already_l:.3g} L already in, {wanted:.3g} L more would go beyond the label's maximum of "
            f"{most:.3g} L",
            right="add nothing, circulate, test, and ask the supervisor and the supplier",
        )
    return Dose(wanted, portions, wanted / portions, most, _sentences(portions))


def _check(
    present_l: float,
    label_amount_l: float,
    label_per_l: float,
    label_most_l: float,
    already_l: float,
    portions: int,
) -> None:
    for name, value in (
        ("present_l", present_l),
        ("label_amount_l", label_amount_l),
        ("label_per_l", label_per_l),
        ("label_most_l", label_most_l),
    ):
        if not 0.0 < value < 1e9:
            raise BadInput(
                f"{value:g} L is not possible", place=name, value=value, right="give a volume above 0"
            )
    if already_l < 0.0 or portions < 1:
        raise BadInput(
            "what is already in, and the portions, cannot be below zero",
            place="portions",
            value=portions,
            right="give 0 L or more, and 2 portions or more",
        )
    if label_amount_l > label_most_l:
        raise BadInput(
            "the label's dose is above the label's maximum",
            place="label_amount_l",
            value=label_amount_l,
            right="read the label again",
        )


def _sentences(portions: int) -> tuple[str, ...]:
    return (
        "The label and the safety data sheet are the law here; only a trained person doses.",
        "Gloves, goggles and apron on, fresh air running, nobody working at that machine.",
        f"Add it in {portions} equal portions where the coolant is moving, with time to circulate in "
        "between.",
        "A dose does not bring spoiled coolant back. Test again as the label says, and write down what "
        "went in.",
    )
