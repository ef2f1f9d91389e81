"""Small machines with published tables, played by `step` one symbol a loop.

An input that stands at a symbol for one loop is that symbol read once, since a region takes at most
one transition a loop.
"""

from collections.abc import Mapping, Sequence
from itertools import combinations

import pytest

from behaviour.model import Model
from behaviour.semantics import PropState, power_up, step
from tests.reading import model_of

Table = Mapping[str, Mapping[str, tuple[str, str]]]
"""For each state and symbol the next state, and what the transition gives."""


def machine(table: Table, symbols: Sequence[str]) -> Model:
    """Write a table down as a behaviour file; the first state is where it begins."""
    lines = [
        "language: 1",
        "prop: A published machine",
        "loop: 10 ms",
        "inputs:",
        f"  read: {{kind: selector, values: [nothing, {', '.join(symbols)}]}}",
        "regions:",
        "  machine:",
        f"    begins: {next(iter(table))}",
        "    states:",
    ]
    for state, ways in table.items():
        lines += [f"      {state}:", "        leave:"]
        lines += [
            f'          - {{when: read is {symbol}, go: {to}, about: "{gives}"}}'
            for symbol, (to, gives) in ways.items()
        ]
    return model_of("\n".join(lines) + "\n")


def played(model: Model, symbols: Sequence[str], begins: str = "") -> tuple[list[str], list[str]]:
    """Play symbols from power-up, or from a state, and give the states and what each loop gave."""
    region = model.regions[0]
    state = power_up(model, ["nothing"], {})
    if begins:
        number = next(each.number for each in region.states if each.name == begins)
        state = _moved(state, number)
    states, given = [region.states[state.regions[0].leaf].name], []
    for symbol in symbols:
        state = step(model, state, [symbol], {})
        fired = state.regions[0].fired
        assert fired is not None
        assert fired.transition is not None
        states.append(region.states[state.regions[0].leaf].name)
        given.append(fired.transition.about)
    return states, given


def _moved(state: PropState, leaf: int) -> PropState:
    regions = (state.regions[0]._replace(leaf=leaf),)
    return PropState(state.inputs, state.counters, regions, state.outputs)


def test_the_pattern_machine_goes_through_its_published_states():
    # Harvard HC3, "simplefsm", 2014: states $, A, *; values.md section 8, read and recomputed.
    names = {"dollar": "$", "letter": "A", "star": "*"}
    table = {
        "dollar": {"zero": ("dollar", ""), "one": ("letter", "")},
        "letter": {"zero": ("star", ""), "one": ("letter", "")},
        "star": {"zero": ("dollar", ""), "one": ("letter", "")},
    }
    symbols = ["zero" if bit == "0" else "one" for bit in "0100110011100111100"]

    states, _ = played(machine(table, ["zero", "one"]), symbols)

    assert "".join(names[state] for state in states) == "$$A*$AA*$AAA*$AAAA*$"


TURNSTILE: Table = {
    "locked": {"coin": ("unlocked", "release"), "push": ("locked", "-")},
    "unlocked": {"coin": ("unlocked", "-"), "push": ("locked", "lock")},
}
"""Wikipedia, Finite-state machine, as copied at liquisearch; values.md section 8, verified."""


def test_the_turnstile_releases_on_a_coin_and_locks_on_a_push():
    states, given = played(
        machine(TURNSTILE, ["coin", "push"]), ["push", "coin", "coin", "push", "push"]
    )

    assert states == ["locked", "locked", "unlocked", "unlocked", "locked", "locked"]
    assert given == ["-", "release", "-", "lock", "-"]


def test_the_mealy_turnstile_asks_for_money_whenever_it_is_locked():
    # MIT 6.01SC, Spring 2011, week 2.1.2; values.md section 8, verified.
    table = {
        "locked": {
            "coin": ("unlocked", "enter"),
            "turn": ("locked", "pay"),
            "wait": ("locked", "pay"),
        },
        "unlocked": {
            "coin": ("unlocked", "enter"),
            "turn": ("locked", "pay"),
            "wait": ("unlocked", "enter"),
        },
    }

    _, given = played(
        machine(table, ["coin", "turn", "wait"]), ["wait", "coin", "wait", "turn", "turn"]
    )

    assert given == ["pay", "enter", "enter", "pay", "pay"]


MATHUR: Table = {
    "q1": {"a": ("q1", "0"), "b": ("q4", "1")},
    "q2": {"a": ("q1", "0"), "b": ("q5", "1")},
    "q3": {"a": ("q5", "0"), "b": ("q1", "1")},
    "q4": {"a": ("q3", "1"), "b": ("q4", "1")},
    "q5": {"a": ("q2", "1"), "b": ("q5", "1")},
}
"""Mathur, Foundations of Software Testing (2008), figure 3.13: from memory, by values.md."""

SEPARATING = ("a", "aa", "aaa", "baaa")


def outputs(begins: str, word: str) -> str:
    return "".join(played(machine(MATHUR, ["a", "b"]), list(word), begins)[1])


@pytest.mark.parametrize("pair", list(combinations(MATHUR, 2)), ids="-".join)
def test_the_published_words_tell_every_two_states_of_mathurs_machine_apart(pair):
    differing = [word for word in SEPARATING if outputs(pair[0], word) != outputs(pair[1], word)]

    assert differing
    if pair == ("q1", "q2"):
        assert differing == ["baaa"]


def test_an_inner_transition_wins_over_an_outer_one():
    # W3C www-voice 2013AprJun/0025 and SCXML 1.0 (2015), removeConflictingTransitions: the
    # descendant's transition wins, and `next` is not entered; values.md section 8, H2. Between
    # parallel regions nothing is shared: ours are never left together.
    model = model_of("""\
        language: 1
        prop: Conflict
        loop: 10 ms
        inputs: {e: {kind: button}}
        regions:
          top:
            begins: p
            states:
              p:
                begins: s2a
                leave: [{when: e becomes pressed, go: next}]
                states:
                  s2a: {leave: [{when: e becomes pressed, go: s2b}]}
                  s2b: {}
              next: {}
        """)
    state = step(model, power_up(model, ["released"], {}), ["pressed"], {})

    assert model.regions[0].states[state.regions[0].leaf].name == "s2b"
