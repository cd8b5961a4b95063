"""Reading conditions, and their three-valued truth."""

from __future__ import annotations

from itertools import product

import pytest

from advisor.errors import BadRules, EngineLimit
from advisor.inference.conditions import (
    All,
    Any_,
    Comparison,
    Condition,
    Leaf,
    Literal,
    Measured,
    Not,
    comparisons,
    evaluate,
    leaves,
    normal_form,
    read,
    value_of,
)
from tests.engine.random_rules import kleene

T, U, F = True, None, False
X, Y, Z = Leaf("x"), Leaf("y"), Leaf("z")

# S. C. Kleene, Introduction to Metamathematics, 1952, section 64: the strong tables, rows x, columns y.
AND = {(T, T): T, (T, F): F, (T, U): U, (F, T): F, (F, F): F, (F, U): F, (U, T): U, (U, F): F, (U, U): U}
OR = {(T, T): T, (T, F): T, (T, U): T, (F, T): T, (F, F): F, (F, U): U, (U, T): T, (U, F): U, (U, U): U}
NOT = {T: F, F: T, U: U}


def value(condition: Condition, **statuses: bool | None) -> bool | None:
    """The condition's value under these statuses."""
    return evaluate(condition, statuses.get).value


@pytest.mark.parametrize("pair", AND, ids=str)
def test_and_or_follow_the_published_tables(pair: tuple[bool | None, bool | None]) -> None:
    """Both joins agree with Kleene's strong tables on all nine pairs."""
    x, y = pair
    assert value(All((X, Y)), x=x, y=y) is AND[pair]
    assert value(Any_((X, Y)), x=x, y=y) is OR[pair]


@pytest.mark.parametrize("x", NOT, ids=str)
def test_not_means_ruled_out(x: bool | None) -> None:
    """A negation is true only when its part is ruled out, and unknown while that is unsaid."""
    assert value(Not(X), x=x) is NOT[x]


def small_conditions() -> list[Condition]:
    """Every condition over three leaves with two joins and a negation at each place."""
    literals: list[Condition] = [X, Y, Z, Not(X), Not(Y), Not(Z)]
    pairs = [join(two) for join in (All, Any_) for two in product(literals, repeat=2)]
    return [*literals, *pairs, *(Not(pair) for pair in pairs),
            *(join((pair, one)) for join in (All, Any_) for pair in pairs for one in literals)]


@pytest.mark.parametrize("statuses", list(product((T, U, F), repeat=3)), ids=str)
def test_normal_form_holds_exactly_when_true(statuses: tuple[bool | None, ...]) -> None:
    """One conjunction holds when the condition is true; one of the negation's when it is false."""
    known = {key: status for key, status in zip("xyz", statuses, strict=True) if status is not None}

    for condition in small_conditions():
        truth = evaluate(condition, known.get).value
        assert truth is kleene(condition, known)
        assert truth is value_of(condition, known.get)
        for wanted, form in ((T, normal_form(condition)), (F, normal_form(Not(condition)))):
            holds = any(all(known.get(key) is status for key, status in way) for way in form)
            assert holds is (truth is wanted), condition


def test_a_contradiction_goes_and_a_tautology_stays() -> None:
    """"x and not x" has no way to be true; "x or not x" still needs x to be known."""
    assert normal_form(All((X, Not(X)))) == ()
    assert normal_form(Any_((X, Not(X)))) == ((Literal("x", True),), (Literal("x", False),))
    assert normal_form(Any_((X, All((X, Y))))) == ((Literal("x", True),),)


def test_too_many_alternatives_are_refused() -> None:
    """A condition that multiplies out to thousands of ways names its place and the way out."""
    pairs = tuple(Any_((Leaf(f"a{i}"), Leaf(f"b{i}"))) for i in range(12))
    with pytest.raises(EngineLimit, match=r"^here: .* finding of its own"):
        normal_form(All(pairs), place="here")


def test_unknown_leaves_are_what_there_is_to_ask() -> None:
    """While undecided it lists the leaves that can settle it; once settled there are none."""
    condition = All((X, Any_((Y, Z))))

    assert evaluate(condition, {"x": True, "y": False}.get).unknown == ("z",)
    assert evaluate(condition, {"x": False}.get).unknown == ()
    assert evaluate(condition, {}.get).unknown == ("x", "y", "z")


def test_reasons_name_every_leaf_and_the_decisive_ones() -> None:
    """Each leaf stands once with its status; the decisive ones are those that settle the value."""
    truth = evaluate(All((X, Not(Y), Any_((X, Z)))), {"x": True, "y": False}.get)

    assert truth.value is True
    assert truth.reasons == (("x", True), ("y", False), ("z", None))
    assert truth.decisive == ("x", "y")


@pytest.mark.parametrize(("raw", "expected"), [
    ("smell :rotten_egg", Leaf("smell: rotten_egg")),
    ("foam", Leaf("foam")),
    ("cause: tramp_oil", Leaf("cause: tramp_oil")),
    ({"smell": "rotten_egg"}, Leaf("smell: rotten_egg")),
    (["foam", {"not": "smell"}], All((Leaf("foam"), Not(Leaf("smell"))))),
    ({"any": ["foam", {"all": ["smell"]}]}, Any_((Leaf("foam"), All((Leaf("smell"),))))),
    ({"quantity": "ph", "below": 8.5}, Leaf("ph < 8.5", Comparison("ph", None, 8.5, True, False))),
], ids=str)
def test_written_forms(raw: object, expected: Condition) -> None:
    """Each written form is read as what the docstring says."""
    assert read(raw) == expected


@pytest.mark.parametrize(("raw", "key"), [
    ({"above": 9}, "ph > 9"),
    ({"from": 9}, "ph >= 9"),
    ({"to": 9}, "ph <= 9"),
    ({"from": 8.5, "to": 9.5}, "8.5 <= ph <= 9.5"),
    ({"above": 8.5, "below": 9.5}, "8.5 < ph < 9.5"),
], ids=str)
def test_comparison_keys(raw: dict[str, float], key: str) -> None:
    """A comparison's key says the comparison."""
    assert read({"quantity": "ph", **raw}).key == key  # type: ignore[union-attr]


@pytest.mark.parametrize("raw", [
    7, None, True, "", " : x", "smell:", {}, {"all": []}, {"any": "foam"},
    {"all": ["foam"], "any": ["smell"]},
    {"smell": ["rotten_egg"]}, {"not": {}}, {"quantity": "ph"}, {"quantity": "ph", "under": 8},
    {"quantity": "ph", "below": 8, "to": 9}, {"quantity": "ph", "from": 9, "to": 8},
    {"quantity": "ph", "below": "8"}, {"quantity": "ph", "below": True},
    {"quantity": "ph", "below": float("nan")},
    {"quantity": ["ph"], "below": 8},
], ids=str)
def test_bad_conditions_say_where_and_what_would_be_right(raw: object) -> None:
    """What is not a condition is refused with its place and a way to write it."""
    with pytest.raises(BadRules) as caught:
        read(raw, "rules/causes/x.yaml:7")
    assert caught.value.place == "rules/causes/x.yaml:7"
    assert caught.value.right


@pytest.mark.parametrize(("measured", "expected"), [
    (8.4, (T, T, F)), (8.5, (F, T, T)), (9.5, (F, F, T)), (9.6, (F, F, F)), (None, (U, U, U)),
    ((8.0, 8.4), (T, T, F)), ((8.4, 8.6), (U, U, U)), ((8.6, 9.0), (F, F, T)), ((None, 8.0), (T, T, F)),
    ((9.0, None), (F, F, U)), ((8.5, None), (F, U, U)), ((None, None), (U, U, U)),
], ids=str)
def test_comparison_at_and_around_its_limits(measured: Measured | None, expected: tuple[bool | None]) -> None:
    """The limit itself counts as written; a range that straddles a limit leaves it unknown."""
    below, up_to = Comparison("ph", None, 8.5, high_in=False), Comparison("ph", None, 8.5)
    within = Comparison("ph", 8.5, 9.5)
    assert tuple(one.status(measured) for one in (below, up_to, within)) == expected


def test_leaves_and_comparisons_come_once() -> None:
    """Leaves are listed once in order; comparisons are found inside nested conditions."""
    condition = read({"all": ["foam", {"not": {"any": [{"quantity": "ph", "below": 8}, "foam"]}}]})

    assert [leaf.key for leaf in leaves(condition)] == ["foam", "ph < 8"]
    assert [one.quantity for one in comparisons([condition, condition])] == ["ph"]
