"""One run judged by one rule, against the judge of the explicit graph and by hand."""

from collections import Counter
from random import Random

from hypothesis import given, settings
from hypothesis import strategies as st

from behaviour.check.judging import Breach, breaches
from behaviour.explore.twin import Graph, Loop
from behaviour.findings import Run, Stimulus
from behaviour.model import Model, WayBack
from behaviour.story import replay
from tests.carousel import FORGETFUL, lid_opens_while_it_turns
from tests.reading import model_in, model_of
from tests.strategies import models
from tests.twin.faces import Faces
from tests.twin.props import walked
from tests.twin.rules import Answer, answer

MOST_STATES = 3_000

SEEN: Counter[str] = Counter()
"""How often each kind of rule was judged, with which answer."""


def path_through(graph: Graph, dice: Random) -> tuple[Graph, Run]:
    """Draw one run of a graph, and give the graph that has that run alone."""
    loops = [dice.choice(graph.starts)]
    for _ in range(dice.randint(0, 30)):
        loops.append(dice.choice(graph.loops[loops[-1].target]))
    states = tuple(graph.states[loop.target] for loop in loops)
    alone: list[Loop] = [
        loop._replace(source=None if at == 0 else at - 1, target=at)
        for at, loop in enumerate(loops)
    ]
    onward = (*((loop,) for loop in alone[1:]), ())
    run = Run(tuple(loop.stimulus for loop in loops))
    return Graph(states, (alone[0],), onward, ()), run


@settings(
    max_examples=max(500, settings.default.max_examples if settings.default else 0),
    derandomize=True,
)
@given(models(), st.integers(0, 1 << 30))
def test_a_run_is_judged_as_the_graph_of_that_run_alone_is(model: Model, seed: int) -> None:
    graph = walked(model, MOST_STATES, for_rules=True)
    if graph is None:
        return
    dice = Random(seed)
    for _ in range(12):
        path, run = path_through(graph, dice)
        views, faces = replay(model, run), Faces(model, path)
        for rule in model.rules:
            if isinstance(rule.requirement, WayBack):
                continue
            theirs = answer(faces, rule.requirement, rule.scope)
            mine = breaches(model, rule.requirement, views, rule.scope)
            first = next(iter(mine.values()), None)

            said = Answer(first is None, too_slow=first is not None and first.too_slow)
            assert said == theirs
            word = "holds" if theirs.holds else "too slow" if theirs.too_slow else "broken"
            SEEN[f"{type(rule.requirement).__name__} {word}"] += 1


def test_each_kind_of_rule_was_kept_and_broken() -> None:
    """Runs after the random props: what was compared must have occurred, or nothing was shown."""
    expected = [
        f"{kind} {word}"
        for kind in (
            "Never",
            "Always",
            "AtMost",
            "AtLeast",
            "Whenever",
            "First",
            "Count",
            "Rate",
        )
        for word in ("holds", "broken")
    ]
    assert {name: SEEN[name] for name in expected if SEEN[name] < 20} == {}
    assert SEEN["Never too slow"] + SEEN["Whenever too slow"] > 0


def judged(model: Model, run: Run, rule: int = 0) -> dict[int, Breach]:
    return breaches(model, model.rules[rule].requirement, replay(model, run))


def test_sensing_is_counted_into_how_long_it_has_lasted() -> None:
    """The lid counts at 0.76 s and needs 20 ms for that, so at 0.78 s it has been 50 ms."""
    broken = judged(model_in(FORGETFUL), lid_opens_while_it_turns())

    assert broken == {78: Breach(5, 2, 4), 79: Breach(6, 2, 4)}


PUMP = """\
    language: 1
    prop: Pump
    loop: 10 ms
    inputs:
      push: {kind: button, steady: 20 ms}
      lid: {kind: switch, values: [shut, open], steady: {open: 60 ms, shut: 0 ms}}
    outputs: {pump: {kind: relay, values: [off, on]}}
    regions:
      pump_house:
        begins: idle
        states:
          idle: {leave: [{when: push becomes pressed, go: pumping}]}
          pumping: {set: {pump: on}, leave: [{when: lid is open, go: idle}]}
    rules:
      - {name: pumps no longer than 50 ms, while: pump is on, at most: 50 ms}
      - {name: stops at once, never: pump is on and lid is open, for: 40 ms}
      - {name: a push is answered, whenever: push becomes pressed, then: pump is off, within: 60 ms}
      - {name: never pumps, never: pump is on}
      - {name: is always off, at all times: pump is off}
      - {name: is answered, whenever: push becomes pressed, then: pump is off, within: 20 ms}
    """


def pumping(loops: int, opens: int = 99) -> Run:
    """Give a run in which the push of loop 1 counts in loop 3, and the lid opens in `opens`."""
    return Run(
        tuple(
            Stimulus(
                ("pressed" if loop else "released", "open" if loop >= opens else "shut"),
            )
            for loop in range(loops)
        )
    )


def test_each_kind_of_rule_says_how_long_it_has_been_broken_for() -> None:
    model = model_of(PUMP)

    assert judged(model, pumping(10), 0) == {8: Breach(6, 0, 5), 9: Breach(7, 0, 5)}
    assert judged(model, pumping(10), 2) == {6: Breach(7, 3, 6), 7: Breach(8, 3, 6)} | {
        8: Breach(9, 3, 6),
        9: Breach(10, 3, 6),
    }
    assert judged(model, pumping(5), 3) == {3: Breach(), 4: Breach()}
    assert judged(model, pumping(5), 4) == {3: Breach(), 4: Breach()}


def test_a_time_that_is_over_before_it_can_be_known_is_too_slow() -> None:
    """The lid opens in loop 4 and counts in loop 10, when the pump has run for seven loops."""
    model = model_of(PUMP)

    assert judged(model, pumping(12, opens=4), 1) == {10: Breach(7, 7, 4, too_slow=True)}
    assert judged(model, pumping(4), 5) == {3: Breach(3, 3, 2, too_slow=True)}


def test_a_run_that_keeps_a_rule_is_broken_nowhere() -> None:
    model = model_of(PUMP)

    assert [judged(model, pumping(3), rule) for rule in range(6)] == [{}] * 6
