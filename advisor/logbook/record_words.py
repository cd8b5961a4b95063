"""Records in a few words, for a person and for an auditor."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import TYPE_CHECKING, Any

from advisor.logbook.readings import Record
from advisor.showing import show, volume

if TYPE_CHECKING:
    from advisor.logbook.desk import Desk

Data = Mapping[str, Any]


def record_text(desk: Desk, record: Record) -> str:
    """A record in a few words."""
    words = _WORDS.get(record.kind)
    if words is not None and "unreadable" not in record.data:
        text = words(desk, record.data)
    else:
        text = f"{record.kind}: {_rest(record.data, ())}".removesuffix(": ")
    return f"struck out: {text}" if record.data.get("struck") else text


def _rest(data: Data, keys: Sequence[str]) -> str:
    """The keys that are there (all, when none are named), each with its value."""
    named = keys or [key for key in data if key not in ("first", "reason", "struck")]
    there = [key for key in named if data.get(key) not in (None, "")]
    return ", ".join(f"{key.replace('_', ' ')} {_value(data[key])}" for key in there)


def _value(value: Any) -> str:
    return " and ".join(map(str, value)) if isinstance(value, list) else str(value)


def _joined(*parts: str) -> str:
    return ", ".join(part for part in parts if part)


def _product(desk: Desk, data: Data) -> str:
    key = data.get("product")
    return str(desk.shop.products.get(key, {}).get("name", key)) if key else ""


def _litres(desk: Desk, data: Data) -> str:
    return volume(data["litres"], desk.system) if data.get("litres") is not None else ""


def _look(desk: Desk, data: Data) -> str:
    return "looked at: " + (", ".join(_seen(desk, fact) for fact in data["facts"]) or "nothing unusual")


def _seen(desk: Desk, fact: dict[str, Any]) -> str:
    item = desk.rules.observables.get(fact["id"])
    if item is None:
        return str(fact["id"])
    value = str(fact["value"] or "").replace("_", " ")
    text = f"{item.name} {value}".strip()
    return f"no {text}" if fact.get("status") == "ruled_out" else text


def _addition(desk: Desk, data: Data) -> str:
    strength = data.get("strength")
    what = {None: "top-up", 0.0: "water", 1.0: "neat concentrate"}.get(strength, "mix")
    at = f" at {show(strength, 'fraction')}" if strength not in (None, 0.0, 1.0) else ""
    product = f"product {_product(desk, data)}" if data.get("product") and strength else ""
    lot = f"lot {data['lot']}" if data.get("lot") else ""
    case = f"case {data['case']}" if data.get("case") else ""
    advice = f"by the advice of r{data['advice']}" if data.get("advice") else ""
    approved = f"approved by {data['approved']}" if data.get("approved") else ""
    return _joined(f"added {_litres(desk, data)} of {what}{at}", product, lot, case, advice, approved)


def _delivery(desk: Desk, data: Data) -> str:
    return _joined(f"delivery: {_litres(desk, data)} of {_product(desk, data)}", _rest(data, ("lot",)))


def _price(desk: Desk, data: Data) -> str:
    said = data.get("said") or f"{data['per_litre']:g} per litre"
    return _joined(f"price of {_product(desk, data)}: {said}", str(data.get("currency") or ""))


def _spill(desk: Desk, data: Data) -> str:
    keys = ("where", "to_drain", "cleaned_by", "told")
    return _joined(f"spill of {_litres(desk, data)} {data['what']}".replace("  ", " "), _rest(data, keys))


def _waste(desk: Desk, data: Data) -> str:
    keys = ("what", "code", "container", "document", "carrier")
    lacking = [key for key in keys[1:] if not data.get(key)]
    lacks = f"not given: {', '.join(lacking)}" if lacking else ""
    return _joined(f"waste: {_litres(desk, data)}", _rest(data, keys), lacks)


def _handover(desk: Desk, data: Data) -> str:
    return "handed over: " + ("; ".join(data["open"]) or "nothing open")


def _idle(desk: Desk, data: Data) -> str:
    return f"stands still for {data['days']:g} days"


def _missed(desk: Desk, data: Data) -> str:
    return f"missed: {str(data['check']).replace('_', ' ')}, {data['reason']}"


def _drum(desk: Desk, data: Data) -> str:
    outcome = {"use": "fit for use", "aside": "set aside"}.get(data["outcome"], "check not finished")
    wrong = "; ".join(one["text"] for one in data.get("findings", []) if not one["fits"])
    decided = f"{data['decided']}: {data.get('reason')}" if data.get("decided") else ""
    return _joined(f"drum of {_product(desk, data)}, lot {data['lot']}: {outcome}", wrong, decided)


def _sample(desk: Desk, data: Data) -> str:
    tests = ", ".join(str(key).replace("_", " ") for key in data["tests"])
    keys = ("point", "laboratory", "taken_by", "why")
    return _joined(f"sample for {tests}", _rest(data, keys))


def _zeroed(desk: Desk, data: Data) -> str:
    shows = f", it showed {data['shows']:g} Brix on water" if data.get("shows") is not None else ""
    return f"{data['instrument']} set to zero{shows}"


def _changeover(desk: Desk, data: Data) -> str:
    if data["phase"] == "step":
        keys = ("to", "window", "target", "says", "document", "note")
        left = f"left out, {data['left']}" if data.get("left") else ""
        return _joined(f"changeover, {str(data['step']).replace('_', ' ')}", left, _rest(data, keys))
    return _joined(f"changeover {data['phase']}", _rest(data, ("to", "metals", "note")))


def _advice(desk: Desk, data: Data) -> str:
    made = data["recipe"]
    out, into = (volume(made.get(key) or 0.0, desk.system) for key in ("remove_l", "add_l"))
    mix, after = (show(made.get(key) or 0.0, "fraction") for key in ("mix_strength", "strength_after"))
    return f"advised by a round: take out {out}, put in {into} at {mix}, promised {after}"


_WORDS: dict[str, Callable[[Desk, Data], str]] = {
    "look": _look,
    "addition": _addition,
    "delivery": _delivery,
    "price": _price,
    "spill": _spill,
    "waste": _waste,
    "handover": _handover,
    "idle": _idle,
    "restart": lambda desk, data: "runs again",
    "missed": _missed,
    "drum": _drum,
    "sample": _sample,
    "zeroed": _zeroed,
    "changeover": _changeover,
    "advice": _advice,
}
