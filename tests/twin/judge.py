"""Verdicts of every rule and built-in check of this release by plain definition, on small props.

Written from the pages, on the explicit graph of the twin; it knows no engine.
"""

from collections.abc import Iterable, Mapping
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


def judge(model: Model, graph: Graph) -> Judgement:
    """Judge everything; the graph is that of `graph_of`."""
    case = Case(model, graph)
    found: dict[str, Iterable[object]] = {
        "dead-end": dead_ends(case),
        "no-way-back": no_ways_back(case),
        "runaway": runaways(case),
        "self-running": self_running(case),
        "moves-at-power-up": moves_at_power_up(case),
        "reverses-at-once": reverses_at_once(case),
        "never-reached": {
            *(case.all_states - case.entered),
            *cues_never_reached(case),
        },
        "only-by-stall": case.entered - case.entered_in_health,
        "never-taken": never_taken(case),
        "mechanism-never-reached": case.all_stands - case.stood,
        "mechanism-never-taken": mechanism_never_taken(case),
        "order-matters": order_matters(case),
        "deaf": deaf(case),
        "out-of-range": out_of_range(case),
        "false-jam": false_jams(case),
        "too-quick": {*cut_short(case), *cues_on_one_loop(model), *left_at_once(model)},
        "blink-missed": blinks_missed(case),
        "guard-open-moves": open_moves(case),
        "stop-is-beaten": beaten(case),
        "starts-unasked": unasked(case),
        "slow-stop-filter": filtered_slowly(case),
        "unanswered": unanswered(model),
        "unfiltered-edge": unfiltered_edges(model),
        "broken-wire-reads-safe": broken_wires(model),
        "wiring-contradicts": contradictions(model),
        "unguarded": unguarded(model),
        "looks-alike": looks_alike(model),
    }
    rules = answers(model, graph)
    return Judgement(
        {name: answer.holds for name, answer in rules.items()},
        frozenset(name for name, answer in rules.items() if answer.too_slow),
        {name: frozenset(subjects) for name, subjects in found.items()},
    )
