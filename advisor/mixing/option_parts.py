"""Putting one option together: pails, prediction with its range, steps, and warnings of its own."""

from __future__ import annotations

from dataclasses import replace

from advisor.mixing import balance, steps
from advisor.mixing.display import Display
from advisor.mixing.pails import in_pails, real_strength
from advisor.mixing.recipe import Option
from advisor.mixing.request import Request
from advisor.mixing.spread import ninety_range, standard_uncertainty


def swap(
    request: Request,
    show: Display,
    name: str,
    remove_l: float,
    add_l: float,
    strength: float,
    *,
    warnings: tuple[str, ...] = (),
) -> Option:
    """Take out `remove_l` (0 for none), then add `add_l` of mix at `strength`."""
    rows = in_pails(add_l, strength, request.pail_l, request.pail_fill, request.cup_l)
    given = real_strength(rows)
    after, sd = predicted(request, remove_l, add_l, given)
    low, high = ninety_range(after, sd)
    pour = steps.Pour(
        request, show, request.present_l, request.strength, remove_l, rows, given, after, low, high
    )
    return Option(
        name,
        remove_l,
        add_l,
        given,
        rows,
        after,
        low,
        high,
        0.0,
        remove_l,
        steps.pour_steps(pour),
        (
            *warnings,
            *common_warnings(request, show, given, low, high),
            *drain_warnings(request, show, remove_l),
        ),
        steps.readings(pour),
    )


def predicted(request: Request, remove_l: float, add_l: float, strength: float) -> tuple[float, float]:
    """Strength after a swap and its standard uncertainty.

    (V*f - R)*C + A*m over (V*f - R) + A; strength, volume, level, litres taken out, litres added and the
    cup are taken as uncorrelated (GUM 5.1.2).
    """

    def formula(now: float, volume: float, fill: float, out: float, into: float, mix: float) -> float:
        kept = max(0.0, volume * max(0.0, fill) - out)
        return (kept * now + into * mix) / (kept + into)

    doubt = request.doubt
    values = (request.strength, request.sump_volume_l, request.fill, remove_l, add_l, strength)
    sds = (
        request.strength_sd,
        request.sump_volume_l * doubt.volume,
        doubt.fill,
        remove_l * doubt.pail,
        add_l * doubt.pail,
        strength * doubt.cup,
    )
    return formula(*values), standard_uncertainty(formula, values, sds)


def hold(
    request: Request, show: Display, name: str, strength: float, *, first_l: float = 0.0
) -> Option | None:
    """Replace the coming losses at one strength until the target is reached; None if it never is.

    Args:
        strength: of the top-ups, a fraction.
        first_l: litres of the same that fill the room before the holding begins.
    """
    volume = request.present_l + first_l
    start = balance.blend([(request.present_l, request.strength), (first_l, strength)])
    through = balance.volume_through(volume, start, request.target, strength, request.phi)
    if through is None or through <= 1e-9:
        return None
    add_l = first_l + through
    rows = in_pails(add_l, strength, request.pail_l, request.pail_fill, request.cup_l)
    given = real_strength(rows)

    def formula(now: float, present: float, mix: float, share: float, added: float) -> float:
        full = present + first_l
        at_mark = (present * now + first_l * mix) / full
        return balance.held(full, at_mark, mix, min(0.999, max(0.0, share)), max(0.0, added - first_l))

    doubt = request.doubt
    values = (request.strength, request.present_l, given, request.phi, add_l)
    size = (doubt.volume**2 + (doubt.fill / max(request.fill, 0.05)) ** 2) ** 0.5
    sds = (request.strength_sd, request.present_l * size, given * doubt.cup, doubt.share, add_l * doubt.pail)
    after = formula(*values)
    low, high = ninety_range(after, standard_uncertainty(formula, values, sds))
    days = through / request.daily_loss_l if request.daily_loss_l else None
    said = steps.hold_steps(request, show, rows, given, first_l, through, days)
    warnings = common_warnings(request, show, given, low, high)
    if days is None:
        warnings = (
            "How many days it takes depends on what is topped up in a day; that was not given.",
            *warnings,
        )
    waste = through * (1.0 - request.phi)
    at_once = in_pails(first_l, strength, request.pail_l, request.pail_fill, request.cup_l)
    made = Option(name, 0.0, add_l, given, rows, after, low, high, days, waste, said, warnings)
    return replace(made, later_l=through, now=at_once)


def common_warnings(
    request: Request, show: Display, strength: float, low: float, high: float
) -> tuple[str, ...]:
    """Warnings any addition may need: range wider than the window, weak mix in hard water."""
    out: list[str] = []
    if high - low > request.high - request.low:
        out.append(
            f"The likely range ({show.between(low, high)}) is wider than the window "
            f"({show.between(request.low, request.high)}): this instrument cannot prove the fix. Read twice, "
            "or have a titration done."
        )
    if (
        0.0 < strength <= steps.WEAK
        and request.water_hardness is not None
        and (request.water_hardness > steps.HARD_WATER)
    ):
        out.append(
            f"The water is hard ({request.water_hardness:.0f} mg/L as CaCO3): a weak mix may curdle in it. "
            "Let a jar of it stand 15 minutes first, or make it with low-mineral water."
        )
    return tuple(out)


def drain_warnings(request: Request, show: Display, remove_l: float) -> tuple[str, ...]:
    """Warnings a draining needs: a single reading, the pump's minimum, and running down instead."""
    if remove_l <= 1e-6:
        return ()
    out: list[str] = []
    if not request.repeated_reading:
        more = remove_l > request.sump_volume_l / 2.0
        out.append(
            "This rests on one reading. "
            + (
                "It takes out more than half the tank: take a second reading before more than half is gone."
                if more
                else "Read a second sample before the plug is pulled."
            )
        )
    kept = (request.present_l - remove_l) / request.sump_volume_l
    if request.pump_min_fill is not None and kept < request.pump_min_fill:
        out.append(
            f"The level goes to {show.share(kept)}, below the pump's minimum of "
            f"{show.share(request.pump_min_fill)}. The pump stays locked off until it is above that again."
        )
    if 0.0 < kept < request.fill and request.strength <= 0.30:
        ends = balance.run_down(request.strength, request.fill, kept, request.phi)
        out.append(
            "Do not let the machine run it down instead of draining it. Evaporation leaves the concentrate "
            f"behind, and at {show.share(kept)} it would stand at about {show.strength(ends)}."
        )
    return tuple(out)


def assumptions(request: Request, show: Display, kind: str) -> tuple[str, ...]:
    """What a recipe of this kind takes for granted, each as a sentence."""
    out = [
        *request.taken_for_granted,
        "Volumes add up, and the sump volume is the working volume when full.",
        f"Pails hold {show.volume(request.pail_l)} and are filled to {show.share(request.pail_fill)}.",
    ]
    if kind == "charge":
        return tuple(out)
    if request.oil_skimmed is None or request.circulated is None:
        out.append("Floating oil was skimmed and the coolant circulated before the reading.")
    if kind == "thin" and request.ph_normal is None and not request.doubtful_emulsion:
        out.append("The pH is normal and the coolant has neither creamed nor split.")
    if request.evaporated_share is None:
        out.append(
            f"About {show.share(request.phi)} of the loss is evaporation, the rest leaves on parts and chips "
            "(common practice, no source)."
        )
    return tuple(out)


def distrust(request: Request) -> tuple[str, str] | None:
    """Why no recipe may stand on this reading, and what would lift that; None when it may."""
    if not request.factor_known:
        return (
            "no recipe on a raw reading without its product factor",
            "Take the factor from the product's data sheet and give it with the reading.",
        )
    if request.fuzzy_line:
        return (
            "no recipe on a fuzzy reading line",
            "Filter the sample, or mix it with the same volume of water, read, and double the reading.",
        )
    if request.split:
        return (
            "no recipe for a coolant that has split",
            "Adding to it does not bring it back: settle the split first, or change the charge.",
        )
    if request.oil_skimmed is False:
        return ("no recipe before the floating oil is off", "Skim the oil, circulate, and read again.")
    if request.circulated is False:
        return (
            "no recipe before the coolant has circulated",
            "Run it through all circuits for at least 30 minutes, then read again.",
        )
    return None
