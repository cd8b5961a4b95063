"""The probability model against an exact reference library, and its own promises."""

from __future__ import annotations

import statistics

import pytest
from networks import chance_by_hand, random_network, reference, weight_by_hand

from advisor.inference.belief import Network, Node, answer_chances, judge, likelihood
from advisor.inference.weights import seen


@pytest.mark.parametrize("seed", range(25))
def test_uncapped_belief_is_exact(seed: int) -> None:
    """Every subset enumerated, the marginals are those of exact inference."""
    net = random_network(seed)

    found = judge(net, cap=None).marginals

    assert found == pytest.approx(reference(net), abs=1e-9)


def test_cost_of_the_cap_and_of_dropping() -> None:
    """Two starts and dropping below 1e-4 cost little: half of all networks under 0.01, all under 0.1."""
    worst = []
    for seed in range(40):
        net = random_network(seed, causes=8, nodes=5)
        exact, capped = judge(net, cap=None).marginals, judge(net).marginals
        worst.append(max(abs(exact[c] - capped[c]) for c in exact))

    assert statistics.median(worst) < 0.01
    assert max(worst) < 0.1


@pytest.mark.parametrize("seed", range(12))
def test_hypotheses_stand_in_their_true_proportion(seed: int) -> None:
    """However a hypothesis was grown, it weighs against the best one as written out by hand."""
    net = random_network(seed, causes=9, nodes=6)

    found = judge(net).hypotheses
    best = weight_by_hand(net, found[0][0])

    assert len(found) > 1
    for members, p in found:
        assert p / found[0][1] == pytest.approx(weight_by_hand(net, members) / best, rel=1e-9)


@pytest.mark.parametrize("seed", range(12))
def test_what_was_seen_weighs_as_it_is_defined(seed: int) -> None:
    """With ratios worked out beforehand a node weighs every set of causes as without, to the last digit."""
    net = random_network(seed, causes=8, nodes=5)
    bits = {cause: 1 << i for i, cause in enumerate(net.priors)}
    for node in net.nodes:
        work = seen(node, [(bits[c], chances) for c, chances in node.chances.items()])
        for mask in range(1 << len(bits)):
            shown = [chances for c, chances in node.chances.items() if mask & bits[c]]
            assert work(mask) == likelihood(node, shown)


def test_masses_without_a_cause_are_those_of_each() -> None:
    """All masses in one pass are the masses one by one."""
    belief = judge(random_network(3, causes=9, nodes=6))
    lead = max(belief.marginals, key=lambda c: belief.marginals[c])
    held = belief.masses(without=lead)
    assert held
    assert held == pytest.approx({c: belief.mass(c, without=lead) for c in held})
    assert all(belief.mass(c, without=lead) == 0 for c in belief.marginals.keys() - held.keys())


def test_a_cause_can_speak_against_a_finding() -> None:
    """A word below the base rate multiplies what the links give by word over base."""
    shown = [{"yes": 0.9}, {"yes": 0.01}]

    made = answer_chances({"yes": 0.1}, shown)["yes"]

    assert made == pytest.approx(0.9 * 0.01 / 0.1)


def test_answers_of_a_choice_sum_to_one() -> None:
    """Exclusive answers share one unit of chance, whatever the causes say."""
    bases = {"low": 0.05, "high": 0.05, "ok": 0.9}

    made = answer_chances(bases, [{"low": 0.9, "ok": 0.015, "high": 0.003}])

    assert sum(made.values()) == pytest.approx(1.0)
    assert made["low"] > 0.9


def test_a_base_of_zero_is_refused() -> None:
    """Without a base rate nothing could speak against a finding."""
    with pytest.raises(ValueError, match="above 0"):
        answer_chances({"yes": 0.0}, [{"yes": 0.5}])


def test_two_true_causes_do_not_block_each_other() -> None:
    """A rival's mass counts only hypotheses without the leading cause."""
    nodes = [
        Node("x", {"yes": 0.01}, {"a": {"yes": 0.9}}, {"yes": 1.0}, 0.01),
        Node("y", {"yes": 0.01}, {"b": {"yes": 0.9}}, {"yes": 1.0}, 0.01),
    ]

    belief = judge(Network({"a": 0.1, "b": 0.1}, {}, nodes))

    assert belief.mass("a") > 0.7
    assert belief.mass("b", without="a") < 0.2


def test_a_chain_explains_what_only_its_end_shows() -> None:
    """Evidence at the third link raises the first, though nothing shows it directly."""
    leads = {"a": {"b": 0.9}, "b": {"c": 0.9}}
    node = Node("x", {"yes": 0.01}, {"c": {"yes": 0.98}}, {"yes": 1.0}, 0.005)
    net = Network({"a": 0.06, "b": 0.002, "c": 0.002}, leads, [node])

    found = judge(net).marginals

    assert found == pytest.approx(reference(net), abs=0.02)
    assert found["a"] > 0.7


def test_nothing_observed_leaves_the_priors() -> None:
    """With no evidence a cause stands at its prior, raised by what may lead to it."""
    net = Network({"a": 0.1, "b": 0.05}, {"a": {"b": 0.5}}, [])

    found = judge(net).marginals

    assert found["a"] == pytest.approx(0.1)
    assert found["b"] == pytest.approx(1 - 0.95 * (1 - 0.1 * 0.5))


def test_a_reading_near_a_limit_counts_for_both_sides() -> None:
    """A number exactly on a limit moves belief less than one clear of it."""
    shown = {"lean": {"low": 0.9, "ok": 0.015}}
    bases = {"low": 0.05, "ok": 0.95}
    clear = Network({"lean": 0.1}, {}, [Node("band", bases, shown, {"low": 1.0}, 0.005)])
    near = Network({"lean": 0.1}, {}, [Node("band", bases, shown, {"low": 0.5, "ok": 0.5}, 0.005)])

    assert judge(clear).marginals["lean"] > 0.6
    assert judge(near).marginals["lean"] < 0.2


def test_the_hand_formula_and_ours_agree_on_a_choice() -> None:
    """The definition written out by hand gives the same chances."""
    node = random_network(3).nodes[0]
    present = list(node.chances)

    made = answer_chances(node.bases, [node.chances[c] for c in present])

    assert made == pytest.approx({a: chance_by_hand(node, a, present) for a in node.bases})
