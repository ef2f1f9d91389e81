"""A drum with a mark, a region that turns it, and what is found in a prop."""

from functools import lru_cache

from behaviour.explore.twin import Graph, TooManyStatesError, walk
from behaviour.model import Mechanism, Model
from tests.making import (
    Way,
    becomes,
    input_,
    is_not,
    mechanism,
    motor,
    moves,
    prop,
    region,
    stands,
    state,
    way,
)
from tests.twin.case import Case
from tests.twin.judge import CHECKS, graph_of

X = input_("x", "off", "on")
MARK = input_("mark", "clear", "made")
DRIVEN = is_not("drum", "stopped")


def found(model: Model, check: str) -> set[object]:
    """Give what a check finds by plain definition; the rules of the prop are not judged."""
    return set(CHECKS[check](Case(model, walk(model))))


@lru_cache(4)
def walked(model: Model, limit: int, *, for_rules: bool = False) -> Graph | None:
    """Walk a prop if it is small enough; the next draw often gives the same one."""
    try:
        return graph_of(model, limit) if for_rules else walk(model, limit=limit)
    except TooManyStatesError:
        return None


def drum_position(low: float = 20, high: float = 30, **more: str | None) -> Mechanism:
    return mechanism(
        "m",
        stands("between", {"mark": "clear"}, moves("at", low, high, DRIVEN)),
        stands("at", {"mark": "made"}, moves("between", 10, 10, DRIVEN)),
        **more,
    )


def waiting_for_the_mark(*more: Way) -> Model:
    return prop(
        region(
            "r",
            state("idle", leave=[way("turn", when=becomes("x", "on"))]),
            state(
                "turn",
                sets={"drum": "forward"},
                leave=[way("idle", when=becomes("mark", "made")), *more],
            ),
            state("jam", leave=[way("idle", when=becomes("x", "on"))]),
        ),
        inputs=[X, MARK],
        outputs=[motor("drum")],
        mechanism=[drum_position()],
    )
