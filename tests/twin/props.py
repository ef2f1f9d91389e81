"""A drum with a mark, a region that turns it, and what is found in a prop."""

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
from tests.twin.judge import graph_of, judge

X = input_("x", "off", "on")
MARK = input_("mark", "clear", "made")
DRIVEN = is_not("drum", "stopped")


def found(model: Model, check: str) -> set[object]:
    return set(judge(model, graph_of(model)).found[check])


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
