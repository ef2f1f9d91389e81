"""One loop of a prop, held against machines from elsewhere.

The untimed part against the `transitions` package's hierarchical machine on random inputs, small
machines with published tables, and the states that can be reached against networkx.
"""

from collections.abc import Callable, Iterable
from dataclasses import replace
from functools import cache
from itertools import product

import networkx as nx
import pytest
from hypothesis import given
from hypothesis import strategies as st
from transitions.extensions import HierarchicalMachine

from behaviour.explore.twin import walk
from behaviour.model import (
    AddTo,
    And,
    Condition,
    HeldFor,
    Is,
    Model,
    Not,
    Or,
    Region,
    State,
    Transition,
)
from behaviour.semantics import InputState, Look, PropState, RegionState, power_up, step
from tests.making import (
    becomes,
    counter,
    held,
    input_,
    is_,
    output,
    prop,
    put,
    region,
    state,
    way,
)
from tests.strategies import models


def played(model: Model, *raws: str) -> list[PropState]:
    """Read one input loop by loop, loop 0 first."""
    states = [power_up(model, raws[:1], {})]
    for raw in raws[1:]:
        states.append(step(model, states[-1], (raw,), {}))
    return states


def names(model: Model, states: Iterable[PropState]) -> list[str]:
    found = model.regions[0].states
    return [found[each.regions[0].leaf].name for each in states]


# --- Late loops ---------------------------------------------------------------------------------


def test_a_loop_that_begins_late_adds_as_much_to_every_clock() -> None:
    model = prop(
        region(
            "r",
            state("outer", state("in", leave=[way("b", after=90)]), leave=[way("b", after=50)]),
            state("b"),
        ),
        inputs=[input_("x", "off", "on")],
    )
    first = power_up(model, ("off",), {})
    late = step(model, first, ("off",), {}, loops=4)

    assert late.regions[0].timers == (4, 4)
    assert late.inputs[0].since == 4
    assert names(model, [step(model, late, ("off",), {})]) == ["b"]


def test_a_filter_counts_skipped_loops_only_if_the_samples_on_both_sides_agree() -> None:
    model = prop(region("r", state("a")), inputs=[input_("x", "off", "on", steady=30)])
    first = power_up(model, ("off",), {})
    changed = step(model, first, ("on",), {}, loops=5)
    agreed = step(model, changed, ("on",), {}, loops=3)

    assert (changed.inputs[0].steady, changed.inputs[0].run) == ("off", 0)
    assert (agreed.inputs[0].steady, agreed.inputs[0].run) == ("on", 3)


def test_is_for_counts_late_loops() -> None:
    model = prop(
        region("r", state("a", leave=[way("b", when=held("x", "on", 30))]), state("b")),
        inputs=[input_("x", "off", "on")],
    )
    changed = step(model, power_up(model, ("off",), {}), ("on",), {})

    assert names(model, [step(model, changed, ("on",), {}, loops=2)]) == ["a"]
    assert names(model, [step(model, changed, ("on",), {}, loops=3)]) == ["b"]


def test_a_time_that_was_not_in_the_window_cannot_be_drawn() -> None:
    model = prop(region("r", state("a", leave=[way("b", after=(10, 20))]), state("b")))

    with pytest.raises(ValueError, match="3 loops were drawn where 1 to 2 may be"):
        power_up(model, (), {("r", 0): 3})


# --- Published machines -------------------------------------------------------------------------


def test_a_turnstile_as_an_encyclopaedia_has_it() -> None:
    """The turnstile of the article on finite-state machines (liquisearch.com, copy of Wikipedia).

    Locked: coin unlocks it, push does nothing; unlocked: coin does nothing, push locks it.
    """
    model = prop(
        region(
            "turnstile",
            state("locked", leave=[way("unlocked", when=becomes("act", "coin"))]),
            state("unlocked", sets={"arm": "free"}, leave=[way("locked", becomes("act", "push"))]),
        ),
        inputs=[input_("act", "none", "coin", "push", kind="selector")],
        outputs=[output("arm", "held", "free")],
    )
    states = played(model, "none", "push", "coin", "none", "coin", "push", "coin", "push", "none")

    assert [each.outputs[0] for each in states] == [
        "held",
        "held",
        "free",
        "free",
        "free",
        "held",
        "free",
        "held",
        "held",
    ]


def test_a_turnstile_as_a_course_has_it() -> None:
    """MIT OpenCourseWare 6.01SC, Spring 2011, Wk.2.1.2 (studylib.net document 13436670).

    Locked: coin lets in (`enter`), else `pay`; unlocked: turn locks (`pay`), else `enter`.
    """
    model = prop(
        region(
            "turnstile",
            state("locked", leave=[way("unlocked", when=is_("act", "coin"))]),
            state("unlocked", sets={"sign": "enter"}, leave=[way("locked", is_("act", "turn"))]),
        ),
        inputs=[input_("act", "none", "coin", "turn", kind="selector")],
        outputs=[output("sign", "pay", "enter")],
    )
    states = played(model, "none", "none", "coin", "none", "turn", "turn", "coin", "coin")

    assert [each.outputs[0] for each in states[1:]] == [
        "pay",
        "enter",
        "enter",
        "pay",
        "pay",
        "enter",
        "enter",
    ]


def test_the_pattern_machine_goes_through_its_published_states() -> None:
    """Harvard HC3, `simplefsm` (hc3.seas.harvard.edu/hc3/bospre/2014/problems/simplefsm)."""
    model = prop(
        region(
            "pattern",
            state("dollar", leave=[way("letter", when=is_("bit", "one"))]),
            state("letter", leave=[way("star", when=is_("bit", "zero"))]),
            state("star", leave=[way("dollar", is_("bit", "zero")), way("letter")]),
        ),
        inputs=[input_("bit", "zero", "one")],
    )
    bits = {"0": "zero", "1": "one"}
    states = played(model, "zero", *(bits[bit] for bit in "0100110011100111100"))
    signs = {"dollar": "$", "letter": "A", "star": "*"}

    assert "".join(signs[name] for name in names(model, states)) == "$$A*$AA*$AAA*$AAAA*$"


def mathur(begins: str) -> Model:
    """The five-state machine of Mathur, Foundations of Software Testing (2008), fig. 3.13.

    The table is from memory. What it puts out is held in a counter.
    """
    table = {
        "q1": (("q1", 0), ("q4", 1)),
        "q2": (("q1", 0), ("q5", 1)),
        "q3": (("q5", 0), ("q1", 1)),
        "q4": (("q3", 1), ("q4", 1)),
        "q5": (("q2", 1), ("q5", 1)),
    }
    ordered = [begins, *(name for name in table if name != begins)]
    return prop(
        region(
            "machine",
            *(
                state(
                    name,
                    leave=[
                        way(table[name][0][0], is_("key", "a"), do=[put("out", table[name][0][1])]),
                        way(table[name][1][0], is_("key", "b"), do=[put("out", table[name][1][1])]),
                    ],
                )
                for name in ordered
            ),
        ),
        inputs=[input_("key", "none", "a", "b", kind="selector")],
        counters=[counter("out", 0, 1)],
    )


def said(begins: str, word: str) -> str:
    model = mathur(begins)
    return "".join(str(each.counters[0]) for each in played(model, "none", *word)[1:])


def test_mathur_s_words_tell_all_of_his_states_apart() -> None:
    """W = {a, aa, aaa, baaa} separates all ten pairs; only q1 and q2 need a word of four."""
    words = ("a", "aa", "aaa", "baaa")
    answers = {
        name: tuple(said(name, word) for word in words) for name in ("q1", "q2", "q3", "q4", "q5")
    }

    assert answers == {
        "q1": ("0", "00", "000", "1101"),
        "q2": ("0", "00", "000", "1100"),
        "q3": ("0", "01", "010", "1000"),
        "q4": ("1", "10", "101", "1101"),
        "q5": ("1", "10", "100", "1100"),
    }


# --- Against a hierarchical machine -------------------------------------------------------------


def untimed(model: Model) -> Model:
    """The same prop without times, interlocks, cues, lockouts, mechanism and rules."""
    return replace(
        model,
        inputs=tuple(
            replace(item, steady=(0,) * len(item.values), role=None, safe=None)
            for item in model.inputs
        ),
        regions=tuple(
            replace(each, interlocks=(), states=tuple(_untimed_state(s) for s in each.states))
            for each in model.regions
        ),
        mechanism=(),
        rules=(),
    )


def _untimed_state(found: State) -> State:
    leave = tuple(
        replace(each, after=None, when=None if each.when is None else _untimed(each.when))
        for each in found.leave
    )
    return replace(found, leave=leave, interlocks=(), cues=(), end=None, lockout=False)


def _untimed(condition: Condition) -> Condition:
    match condition:
        case HeldFor(name=name, value=value):
            return Is(name, (value,))
        case And(parts=parts):
            return And(tuple(_untimed(part) for part in parts))
        case Or(parts=parts):
            return Or(tuple(_untimed(part) for part in parts))
        case Not(part=part):
            return Not(_untimed(part))
        case _:
            return condition


class Elsewhere:
    """A region as the hierarchical machine of another package runs it, one `tick` a loop."""

    def __init__(self, model: Model, found: Region) -> None:
        self.model = model
        self.region = found
        self.look: Look | None = None
        self.counters = {each.name: each.begins for each in model.counters}
        self.machine = HierarchicalMachine(
            model=self,
            states=[self._state(each) for each in found.states if each.parent is None],
            initial=self._name(found.begins),
            auto_transitions=False,
            ignore_invalid_triggers=True,
            send_event=True,
        )
        for each in found.states:
            for on in each.leave:
                self.machine.add_transition(
                    "tick",
                    self._name(each.number),
                    None if on.target is None else self._name(self._number(on)),
                    conditions=self._holds(on),
                    before=self._does(on),
                )

    @property
    def leaf(self) -> str:
        return str(self.state).rpartition("_")[2]  # type: ignore[attr-defined]

    def run(self, look: Look) -> None:
        self.look = look
        if "tick" in self.machine.events:
            self.trigger("tick")  # type: ignore[attr-defined]

    def _state(self, found: State) -> dict[str, object]:
        made: dict[str, object] = {"name": found.name}
        if found.begins is not None:
            made["children"] = [self._state(self.region.states[n]) for n in found.children]
            made["initial"] = self.region.states[found.begins].name
        return made

    def _name(self, number: int) -> str:
        return "_".join(self.region.states[n].name for n in self.region.path(number))

    def _number(self, on: Transition) -> int:
        assert isinstance(on.target, int)
        return on.target

    def _holds(self, on: Transition) -> Callable[[object], bool]:
        def holds(_: object) -> bool:
            assert self.look is not None
            return self.look.holds(on.when)

        return holds

    def _does(self, on: Transition) -> Callable[[object], None]:
        def does(_: object) -> None:
            for action in on.does:
                bounds = self.model.counter[action.counter]
                old = self.counters[action.counter]
                new = old + action.amount if isinstance(action, AddTo) else action.value
                self.counters[action.counter] = min(max(new, bounds.low), bounds.high)

        return does


@given(models().map(untimed), st.data())
def test_untimed_regions_go_as_a_hierarchical_machine_goes(
    model: Model, data: st.DataObject
) -> None:
    raws = data.draw(
        st.lists(st.tuples(*(st.sampled_from(item.values) for item in model.inputs)), max_size=12)
    )
    now = power_up(model, tuple(item.values[0] for item in model.inputs), {})
    elsewhere = [Elsewhere(model, each) for each in model.regions]
    owner = {
        action.counter: at
        for at, each in enumerate(model.regions)
        for on in each.transitions()
        for action in on.does
    }

    for raw in raws:
        inputs = tuple(
            InputState(reads, reads, 0, 1, became=reads != before.steady)
            for reads, before in zip(raw, now.inputs, strict=True)
        )
        look = Look(model, inputs, now.counters, tuple(each.leaf for each in now.regions))
        for machine in elsewhere:
            machine.run(look)
        now = step(model, now, raw, {})

        assert [
            each.states[at.leaf].name for each, at in zip(model.regions, now.regions, strict=True)
        ] == [machine.leaf for machine in elsewhere]
        assert [now.counters[model.counter_index[name]] for name in owner] == [
            elsewhere[at].counters[name] for name, at in owner.items()
        ]


# --- Against networkx ---------------------------------------------------------------------------


Place = tuple[tuple[int, ...], tuple[int, ...], tuple[str, ...]]


def _place(found: PropState) -> Place:
    """All that an untimed prop without kept outputs is: leaves, counters, inputs."""
    return (
        tuple(each.leaf for each in found.regions),
        found.counters,
        tuple(each.steady for each in found.inputs),
    )


def _standing(model: Model, place: Place) -> PropState:
    leaves, counters, values = place
    return PropState(
        tuple(InputState(value, value, 0, 0, became=False) for value in values),
        counters,
        tuple(
            RegionState(leaf, 0, (0,) * len(each.path(leaf)), (), None)
            for each, leaf in zip(model.regions, leaves, strict=True)
        ),
        tuple(each.rest for each in model.outputs),
    )


@given(models().map(untimed))
def test_the_twin_reaches_what_networkx_reaches(model: Model) -> None:
    reaches_alike(model)


@cache
def reaches_alike(model: Model) -> None:
    """Compare once what is the same without times, as most random props are.

    The whole graph is made without asking what can be reached; networkx is asked for that.
    """
    raws = list(product(*(item.values for item in model.inputs)))
    places = product(
        product(*([s.number for s in each.states if not s.children] for each in model.regions)),
        product(*(range(each.low, each.high + 1) for each in model.counters)),
        raws,
    )
    graph = nx.DiGraph()
    for place in places:
        standing = _standing(model, place)
        for raw in raws:
            graph.add_edge(place, _place(step(model, standing, raw, {})))
    starts = {_place(power_up(model, raw, {})) for raw in raws}
    reached = starts.union(*(nx.descendants(graph, start) for start in starts))

    assert {_place(each.prop) for each in walk(model).states} == reached
