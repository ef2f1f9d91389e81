"""What others can bar for ever: where they can, no proof that it stays possible is lost."""

from collections.abc import Callable, Iterable
from unittest.mock import patch

from hypothesis import given

from behaviour.check import staying
from behaviour.check.asking import Asking
from behaviour.check.barring import Course, is_barred
from behaviour.check.returning import check_returning
from behaviour.check.rules import check_rules
from behaviour.check.verdicts import Told
from behaviour.explore.budget import Budget
from behaviour.explore.places import Place
from behaviour.explore.reach import Lookout
from behaviour.explore.situations import Question, Situation
from behaviour.explore.ways import Possible
from behaviour.model import Condition, Model
from tests.making import (
    becomes,
    both,
    button,
    either,
    held,
    input_,
    inside,
    is_,
    no,
    prop,
    region,
    state,
    way,
)
from tests.strategies import each_once, models

STATES, SECONDS = 3000, 600
"""How far is looked hangs on the states alone, or a busy machine would tell the two apart."""


def told(model: Model) -> tuple[Told, Told]:
    asking = Asking(model, Budget(STATES, SECONDS))
    return check_rules(asking), check_returning(asking)


@given(models())
@each_once
def test_nothing_is_shown_from_where_others_can_bar_it(model: Model) -> None:
    barred: list[Lookout] = []

    def looked(
        lookout: Lookout, starts: Iterable[Situation], may_come: Callable[[Course], bool]
    ) -> bool:
        if is_barred(lookout, starts, may_come):
            barred.append(lookout)
        return False

    def proved(
        self: Possible, late: list[Situation], vector: tuple[str, ...], kept: frozenset[int]
    ) -> bool:
        shown = leads(self, late, vector, kept)
        assert not (shown and self.lookout.model in [each.model for each in barred])
        barred.clear()
        return shown

    leads = Possible.is_proved_from
    with (
        patch.object(staying, "is_barred", looked),
        patch.object(Possible, "is_proved_from", proved),
    ):
        without = told(model)

    assert [each.verdicts for each in told(model)] == [each.verdicts for each in without]


X, Z = button("x"), input_("z", "clear", "made")
"""An input that people move, and one that is left to others."""


def is_barred_by_others(*conditions: Condition, others: tuple[str, ...] = ("z",)) -> bool:
    """Tell whether others can keep `r` from going from one state to the next by `conditions`."""
    names = [chr(ord("a") + number) for number in range(len(conditions) + 1)]
    states = [
        state(name, leave=[way(to, when)])
        for name, to, when in zip(names, names[1:], conditions, strict=False)
    ]
    model = prop(
        region("r", *states, state(names[-1])),
        region("q", state("here", leave=[way("there", both(PRESSED, MADE))]), state("there")),
        inputs=[X, Z],
    )
    free = frozenset(model.input_index[name] for name in others)
    lookout = Lookout(model, Question(free=free), Budget())
    places = (Place(0), Place(0))
    at = Situation(places, (), (), (None, None), (), None, ())
    last = len(conditions)
    return is_barred(lookout, [at], lambda course: last in course.leaves["r"])


PRESSED, MADE = becomes("x", "pressed"), is_("z", "made")


def test_who_asks_for_what_is_left_to_others_can_be_barred() -> None:
    assert is_barred_by_others(MADE)
    assert is_barred_by_others(PRESSED, MADE)
    assert is_barred_by_others(MADE, PRESSED)
    assert is_barred_by_others(becomes("z", "made"))
    assert is_barred_by_others(held("z", "made", 50))
    assert is_barred_by_others(both(PRESSED, no(MADE)))


def test_what_lies_behind_another_region_can_be_barred_with_it() -> None:
    assert is_barred_by_others(inside("q", "there"))


def test_what_people_bring_about_whatever_others_do_cannot_be_barred() -> None:
    assert not is_barred_by_others(PRESSED)
    assert not is_barred_by_others(held("x", "pressed", 50), PRESSED)
    assert not is_barred_by_others(either(MADE, PRESSED))
    assert not is_barred_by_others(either(MADE, is_("z", "clear")))
    assert not is_barred_by_others(inside("q", "here"))


def test_where_nothing_is_left_to_others_nothing_is_barred() -> None:
    assert not is_barred_by_others(MADE, others=())


def test_others_hold_one_thing_for_ever() -> None:
    assert is_barred_by_others(MADE, is_("z", "clear"))
