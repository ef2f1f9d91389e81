"""Published timed protocols on the engine's own structures, with verdicts that are known.

Fischer's protocol keeps processes apart exactly if the time to set is shorter than the wait before
the check (Kaynar, Lynch, Segala and Vaandrager, The Theory of Timed I/O Automata, 2006, figure
4.5). With closed bounds: to set within 1 and to check from 2 on holds, 2 and 2 is broken, and so
is 2 and 1 (worked out from that statement).

The train and the gate are those of Alur and Dill, Theoretical Computer Science 126 (1994), section
7; their times are from memory. There all bounds are strict and the gate is down in time. With all
bounds closed and one event at an instant, a train that enters 2 after its approach may come just
before the gate of that same instant; from 3 on it cannot (worked out). Where everything moves
together in loops, as props do, 2 is enough and 1 is not.

Both are looked at twice: as a prop in which all move together, by the search and by the twin; and
with one event at an instant, by zones and by whole numbers of time. Whole numbers are enough where
all bounds are closed (Henzinger, Manna and Pnueli, ICALP 1992, LNCS 623, pages 545 to 558).
"""

from collections.abc import Callable, Hashable, Iterator
from dataclasses import dataclass
from itertools import combinations

import pytest

from behaviour.explore.budget import Budget
from behaviour.explore.reach import Lookout, reach
from behaviour.explore.search import explore
from behaviour.explore.situations import Question, Situation
from behaviour.explore.space import Space
from behaviour.explore.twin import walk
from behaviour.explore.zones import (
    Zone,
    at_least,
    at_most,
    carry,
    extrapolate,
    includes,
    up,
    zeroes,
)
from behaviour.model import Model
from behaviour.semantics import PropState, power_up, step
from tests.making import (
    becomes,
    both,
    button,
    count,
    counter,
    input_,
    is_,
    mechanism,
    motor,
    moves,
    prop,
    put,
    region,
    stands,
    state,
    way,
)

LOOP = 10
"""One unit of the published times is one loop, of so many milliseconds."""

# --- One event at an instant --------------------------------------------------------------------

Times = tuple[tuple[int, int], ...]
"""Numbered clocks and a bound on each."""


@dataclass(frozen=True)
class Event:
    """One event of a protocol: what it asks of clocks, which it starts again, and what follows."""

    to: Hashable
    least: Times = ()
    most: Times = ()
    starts: tuple[int, ...] = ()


@dataclass(frozen=True)
class Protocol:
    """Clocks that run together, and events that happen one after the other, also at one instant.

    `stays` bounds clocks as long as things are as they are. No clock is asked for more than `most`.
    """

    clocks: int
    begins: Hashable
    events: Callable[[Hashable], Iterator[Event]]
    stays: Callable[[Hashable], Times]
    most: int


def reached_by_zones(protocol: Protocol) -> set[Hashable]:
    """Collect all that a protocol can come to, with a zone for each."""
    size = protocol.clocks + 1
    limits = (protocol.most,) * protocol.clocks
    found: dict[Hashable, list[Zone]] = {}
    waiting: list[tuple[Hashable, Zone]] = []

    def arrive(at: Hashable, zone: Zone | None) -> None:
        begun = at_most(zone, size, protocol.stays(at))
        if begun is None:
            return
        lasting = at_most(up(begun, size), size, protocol.stays(at))
        assert lasting is not None
        wide = extrapolate(lasting, size, limits)
        if not any(includes(other, wide) for other in found.setdefault(at, [])):
            found[at].append(wide)
            waiting.append((at, wide))

    arrive(protocol.begins, zeroes(protocol.clocks))
    while waiting:
        at, zone = waiting.pop()
        for event in protocol.events(at):
            now = at_most(at_least(zone, size, event.least), size, event.most)
            if now is not None:
                kept = [-1 if n in event.starts else n for n in range(protocol.clocks)]
                arrive(event.to, carry(now, size, kept))
    return set(found)


def reached_by_counting(protocol: Protocol) -> set[Hashable]:
    """Collect all that a protocol can come to, with every clock counted one by one."""
    over = protocol.most + 1
    first = (protocol.begins, (0,) * protocol.clocks)
    seen, waiting = {first}, [first]
    while waiting:
        at, clocks = waiting.pop()
        onward = [(at, tuple(min(value + 1, over) for value in clocks))]
        for event in protocol.events(at):
            enough = all(clocks[clock] >= least for clock, least in event.least)
            if enough and all(clocks[clock] <= most for clock, most in event.most):
                begun = tuple(0 if n in event.starts else v for n, v in enumerate(clocks))
                onward.append((event.to, begun))
        for to, values in onward:
            may_be = all(values[clock] <= most for clock, most in protocol.stays(to))
            if may_be and (to, values) not in seen:
                seen.add((to, values))
                waiting.append((to, values))
    return {at for at, _ in seen}


# --- Fischer ------------------------------------------------------------------------------------


def fischer(processes: int, set_within: int, check_from: int) -> Protocol:
    """Each process has one clock, and all share the number of the last one to set it, or 0."""

    def events(at: Hashable) -> Iterator[Event]:
        places, holder = at
        for number, place in enumerate(places):

            def to(here: str, now: int, number: int = number) -> Hashable:
                return (*places[:number], here, *places[number + 1 :]), now

            if place == "idle" and holder == 0:
                yield Event(to("trying", holder), starts=(number,))
            if place == "trying":
                yield Event(to("waiting", number + 1), starts=(number,))
            if place == "waiting" and holder == number + 1:
                yield Event(to("inside", holder), least=((number, check_from),))
            if place == "waiting" and holder == 0:
                yield Event(to("trying", holder), starts=(number,))
            if place == "inside":
                yield Event(to("idle", 0))

    def stays(at: Hashable) -> Times:
        places, _ = at
        return tuple((n, set_within) for n, place in enumerate(places) if place == "trying")

    begins = (("idle",) * processes, 0)
    return Protocol(processes, begins, events, stays, max(set_within, check_from))


def are_apart(reached: set[Hashable]) -> bool:
    return not any(places.count("inside") > 1 for places, _ in reached)


FISCHER = [
    pytest.param(processes, *times, holds, id=f"{processes} processes {times[0]} and {times[1]}")
    for processes in (2, 3)
    for times, holds in (
        ((1, 2), True),
        ((2, 2), False),
        ((2, 1), False),
        ((2, 3), True),
        ((3, 3), False),
    )
]


@pytest.mark.parametrize(("processes", "set_within", "check_from", "holds"), FISCHER)
def test_fischer_holds_exactly_if_the_wait_is_longer_than_the_time_to_set(
    processes, set_within, check_from, holds
):
    protocol = fischer(processes, set_within, check_from)

    reached = reached_by_zones(protocol)

    assert are_apart(reached) is holds
    assert any("inside" in places for places, _ in reached)


@pytest.mark.parametrize(("processes", "set_within", "check_from", "holds"), FISCHER)
def test_fischer_comes_to_the_same_with_every_clock_counted(
    processes, set_within, check_from, holds
):
    protocol = fischer(processes, set_within, check_from)

    counted = reached_by_counting(protocol)

    assert are_apart(counted) is holds
    assert counted == reached_by_zones(protocol)


INSIDE = "inside"


def fischer_in_loops(processes: int, set_within: int, check_from: int) -> Model:
    """Give Fischer's protocol as a prop: its regions see each other as the last loop left them.

    A button each decides when a process goes on; its time to set is any from 1 loop on.
    """

    def process(number: int):
        free, mine = count("holder", "=", 0), count("holder", "=", number)
        wants = is_(f"wish {number}", "pressed")
        times = (1 * LOOP, set_within * LOOP)
        return region(
            f"process {number}",
            state("idle", leave=[way("trying", both(wants, free))]),
            state("trying", leave=[way("waiting", after=times, do=[put("holder", number)])]),
            state(
                "waiting",
                leave=[
                    way(INSIDE, both(wants, mine), after=check_from * LOOP),
                    way("trying", free),
                ],
            ),
            state(INSIDE, leave=[way("idle", is_(f"wish {number}", "released"))]),
        )

    numbers = range(1, processes + 1)
    return prop(
        *(process(number) for number in numbers),
        inputs=[button(f"wish {number}") for number in numbers],
        counters=[counter("holder", 0, processes)],
        loop=LOOP,
    )


def inside_in(model: Model, number: int) -> int:
    return next(each.number for each in model.regions[number].states if each.name == INSIDE)


def are_together(model: Model, at: Situation) -> bool:
    inside = [place.leaf == inside_in(model, n) for n, place in enumerate(at.places)]
    return any(one and other for one, other in combinations(inside, 2))


@pytest.mark.parametrize(("processes", "set_within", "check_from", "holds"), FISCHER)
def test_fischer_in_loops_holds_exactly_if_the_wait_is_longer(
    processes, set_within, check_from, holds
):
    model = fischer_in_loops(processes, set_within, check_from)

    reached = explore(Space(model, Question()), Budget())

    assert any(are_together(model, at) for at in reached.by_situation) is not holds
    for number in range(processes):
        assert any(
            at.places[number].leaf == inside_in(model, number) for at in reached.by_situation
        )


@pytest.mark.parametrize(("processes", "set_within", "check_from", "holds"), FISCHER)
def test_fischer_in_loops_is_judged_the_same_with_only_the_clocks_that_matter(
    processes, set_within, check_from, holds
):
    model = fischer_in_loops(processes, set_within, check_from)

    witness = reach(Lookout(model, Question(), Budget()), lambda at: are_together(model, at))

    assert (witness is None) is holds
    if witness is not None:
        last = played(model, witness.run)
        inside = [each.leaf == inside_in(model, n) for n, each in enumerate(last.regions)]
        assert inside.count(True) == 2


@pytest.mark.parametrize(
    ("set_within", "check_from", "holds"), [(1, 2, True), (2, 2, False), (2, 1, False)]
)
def test_the_twin_says_the_same_of_fischer_in_loops(set_within, check_from, holds):
    model = fischer_in_loops(2, set_within, check_from)

    graph = walk(model)

    together = {
        tuple(each.leaf for each in at.prop.regions) == (inside_in(model, 0), inside_in(model, 1))
        for at in graph.states
    }
    assert together == ({False} if holds else {False, True})


def played(model: Model, run) -> PropState:
    first, *others = run.stimuli
    last = power_up(model, first.raw, dict(first.draws))
    for stimulus in others:
        last = step(model, last, stimulus.raw, dict(stimulus.draws))
    return last


# --- The train and the gate ---------------------------------------------------------------------

TRAIN, GATE, CONTROLLER = range(3)


def crossing(approach: int) -> Protocol:
    """A train that enters from `approach` on and is out by 5; the gate is told after exactly 1.

    It needs at most 1 to come down and 1 to 2 to go up, and is told to rise at most 1 after the
    train is out. Two that share an event do it together; one that cannot holds the other up.
    """
    parts = (
        {
            ("far", "approach"): ("near", (), (), True),
            ("near", "in"): ("in", ((TRAIN, approach),), (), False),
            ("in", "out"): ("out", (), (), False),
            ("out", "exit"): ("far", (), ((TRAIN, 5),), False),
        },
        {
            ("up", "lower"): ("falling", (), (), True),
            ("falling", "down"): ("down", (), ((GATE, 1),), False),
            ("down", "raise"): ("rising", (), (), True),
            ("rising", "up"): ("up", ((GATE, 1),), ((GATE, 2),), False),
        },
        {
            ("quiet", "approach"): ("told", (), (), True),
            ("told", "lower"): ("quiet", ((CONTROLLER, 1),), ((CONTROLLER, 1),), False),
            ("quiet", "exit"): ("freed", (), (), True),
            ("freed", "raise"): ("quiet", (), ((CONTROLLER, 1),), False),
        },
    )
    names = sorted({name for part in parts for _, name in part})

    def events(at: Hashable) -> Iterator[Event]:
        for name in names:
            to, least, most, starts = list(at), (), (), ()
            sharing = [n for n, part in enumerate(parts) if any(e == name for _, e in part)]
            if all((at[n], name) in parts[n] for n in sharing):
                for number in sharing:
                    place, lows, highs, begins = parts[number][at[number], name]
                    to[number] = place
                    least, most = (*least, *lows), (*most, *highs)
                    starts = (*starts, number) if begins else starts
                yield Event(tuple(to), least, most, starts)

    bounds = (
        {"near": 5, "in": 5, "out": 5},
        {"falling": 1, "rising": 2},
        {"told": 1, "freed": 1},
    )

    def stays(at: Hashable) -> Times:
        return tuple((n, bounds[n][place]) for n, place in enumerate(at) if place in bounds[n])

    return Protocol(3, ("far", "up", "quiet"), events, stays, 5)


def is_safe(reached: set[Hashable]) -> bool:
    return all(gate == "down" for train, gate, _ in reached if train == "in")


CROSSINGS = [(1, False), (2, False), (3, True)]


@pytest.mark.parametrize(("approach", "holds"), CROSSINGS)
def test_with_one_event_at_an_instant_the_train_must_come_later_than_the_gate(approach, holds):
    reached = reached_by_zones(crossing(approach))

    assert is_safe(reached) is holds
    assert ("in", "down", "quiet") in reached
    assert ("far", "rising", "quiet") in reached


@pytest.mark.parametrize(("approach", "holds"), CROSSINGS)
def test_the_crossing_comes_to_the_same_with_every_clock_counted(approach, holds):
    counted = reached_by_counting(crossing(approach))

    assert is_safe(counted) is holds
    assert counted == reached_by_zones(crossing(approach))


def crossing_in_loops(approach: int) -> Model:
    """Give the crossing as a prop: train and gate are mechanisms, and a region tells the gate.

    The train is on its way by itself, and may come again while the gate still rises.
    """
    lowers = is_("gate", "forward")
    raises = is_("gate", "reverse")
    train = mechanism(
        "train",
        stands("far", {"track": "free"}, moves("near", LOOP, 3 * LOOP)),
        stands("near", {"track": "near"}, moves("in", approach * LOOP, 4 * LOOP)),
        stands("in", {"track": "in"}, moves("far", LOOP, LOOP)),
    )
    gate = mechanism(
        "gate",
        stands("up", None, moves("down", 0, LOOP, lowers)),
        stands("down", None, moves("rising", 0, LOOP, raises)),
        stands(
            "rising",
            None,
            moves("up", LOOP, 2 * LOOP, raises),
            moves("down", 0, LOOP, lowers),
        ),
    )
    controller = region(
        "controller",
        state("quiet", leave=[way("told", becomes("track", "near"))]),
        state("told", leave=[way("lowering", after=1 * LOOP)]),
        state("lowering", sets={"gate": "forward"}, leave=[way("freed", becomes("track", "free"))]),
        state(
            "freed",
            sets={"gate": "forward"},
            leave=[way("told", becomes("track", "near")), way("raising", after=(0, LOOP))],
        ),
        state("raising", sets={"gate": "reverse"}, leave=[way("told", becomes("track", "near"))]),
    )
    return prop(
        controller,
        inputs=[input_("track", "free", "near", "in")],
        outputs=[motor("gate")],
        mechanism=[train, gate],
        loop=LOOP,
    )


def is_hit(model: Model, stood: tuple[int, ...]) -> bool:
    """Tell whether the train is in and the gate is not down."""
    train, gate = (each.states[at].name for each, at in zip(model.mechanism, stood, strict=True))
    return train == "in" and gate != "down"


TOGETHER = [(1, False), (2, True), (3, True)]


@pytest.mark.parametrize(("approach", "holds"), TOGETHER)
def test_moving_together_in_loops_the_train_may_come_with_the_gate(approach, holds):
    model = crossing_in_loops(approach)

    reached = explore(Space(model, Question()), Budget())

    stood = {tuple(each.state for each in at.standings) for at in reached.by_situation}
    assert any(is_hit(model, at) for at in stood) is not holds
    assert {train for train, _ in stood} == {gate for _, gate in stood} == {0, 1, 2}


@pytest.mark.parametrize(("approach", "holds"), TOGETHER)
def test_the_crossing_in_loops_is_judged_the_same_with_only_the_clocks_that_matter(approach, holds):
    model = crossing_in_loops(approach)

    def goal(at: Situation) -> bool:
        return is_hit(model, tuple(each.state for each in at.standings))

    witness = reach(Lookout(model, Question(), Budget()), goal)

    assert (witness is None) is holds
    if witness is not None:
        assert is_hit(model, witness.run.stimuli[-1].mechanism)


@pytest.mark.parametrize(("approach", "holds"), TOGETHER)
def test_the_twin_says_the_same_of_the_crossing_in_loops(approach, holds):
    model = crossing_in_loops(approach)

    graph = walk(model)

    healthy = [at for at in graph.states if at.stalled is None]
    stood = {tuple(each.state for each in at.stands) for at in healthy}
    assert any(is_hit(model, at) for at in stood) is not holds
