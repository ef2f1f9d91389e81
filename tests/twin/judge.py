"""Verdicts of every rule and built-in check of this release by plain definition, on small props.

Written from the pages, on the explicit graph of the twin; it knows no engine.
"""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass

from behaviour.explore.twin import Graph, walk
from behaviour.model import (
    Model,
)
from tests.twin.case import Case
from tests.twin.hurrying import blinks_missed, cut_short
from tests.twin.plain import (
    broken_wires,
    contradictions,
    cues_on_one_loop,
    left_at_once,
    looks_alike,
    unanswered,
    unfiltered_edges,
    unguarded,
)
from tests.twin.roles import beaten, filtered_slowly, open_moves, unasked
from tests.twin.rules import answers, rule_conditions
from tests.twin.standing import moves_at_power_up, reverses_at_once, runaways, self_running
from tests.twin.staying import (
    cues_never_reached,
    dead_ends,
    mechanism_never_taken,
    never_taken,
    no_ways_back,
    out_of_range,
)
from tests.twin.waiting import deaf, false_jams, order_matters

Subjects = frozenset[object]


@dataclass(frozen=True)
class Judgement:
    """`rules`: whether each holds. `sensing`: those broken by a time shorter than sensing.

    `found` has the subjects of each check, by its name; empty where it finds nothing.
    """

    rules: Mapping[str, bool]
    sensing: frozenset[str]
    found: Mapping[str, Subjects]


def graph_of(model: Model, limit: int = 50_000) -> Graph:
    """Walk a prop so that all its rules can be judged."""
    return walk(model, rule_conditions(model), limit)


CHECKS: Mapping[str, Callable[[Case], Iterable[object]]] = {
    "dead-end": dead_ends,
    "no-way-back": no_ways_back,
    "runaway": runaways,
    "self-running": self_running,
    "moves-at-power-up": moves_at_power_up,
    "reverses-at-once": reverses_at_once,
    "never-reached": lambda case: {
        *(case.all_states - case.entered),
        *cues_never_reached(case),
    },
    "only-by-stall": lambda case: case.entered - case.entered_in_health,
    "never-taken": never_taken,
    "mechanism-never-reached": lambda case: case.all_stands - case.stood,
    "mechanism-never-taken": mechanism_never_taken,
    "order-matters": order_matters,
    "deaf": deaf,
    "out-of-range": out_of_range,
    "false-jam": false_jams,
    "too-quick": lambda case: {
        *cut_short(case),
        *cues_on_one_loop(case.model),
        *left_at_once(case.model),
    },
    "blink-missed": blinks_missed,
    "guard-open-moves": open_moves,
    "stop-is-beaten": beaten,
    "starts-unasked": unasked,
    "slow-stop-filter": filtered_slowly,
    "unanswered": lambda case: unanswered(case.model),
    "unfiltered-edge": lambda case: unfiltered_edges(case.model),
    "broken-wire-reads-safe": lambda case: broken_wires(case.model),
    "wiring-contradicts": lambda case: contradictions(case.model),
    "unguarded": lambda case: unguarded(case.model),
    "looks-alike": lambda case: looks_alike(case.model),
}
"""What each check finds, by its name."""


def judge(model: Model, graph: Graph) -> Judgement:
    """Judge everything; the graph is that of `graph_of`."""
    case = Case(model, graph)
    rules = answers(model, graph)
    return Judgement(
        {name: answer.holds for name, answer in rules.items()},
        frozenset(name for name, answer in rules.items() if answer.too_slow),
        {name: frozenset(check(case)) for name, check in CHECKS.items()},
    )
