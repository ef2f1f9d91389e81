"""What a sketch had to look at, in a finer drawing of the same prop."""

from behaviour.explore.detail import ALL, NO_DETAIL, Detail
from tests.making import button, mechanism, moves, prop, region, stands, state

ONE = prop(
    region("lid", state("shut")),
    region("drum", state("still")),
    inputs=[button("stop"), button("press")],
    mechanism=[mechanism("wheel", stands("here", {}, moves("here", 10, 20)))],
)
OTHER = prop(
    region("drum", state("still")),
    region("lamp", state("dark")),
    inputs=[button("press"), button("key"), button("stop")],
    mechanism=[
        mechanism("arm", stands("up", {}, moves("up", 10, 20))),
        mechanism("wheel", stands("here", {}, moves("here", 10, 20))),
    ],
)


def test_what_has_another_number_is_looked_at_by_its_name() -> None:
    drum, wheel, press = ("region", 1, 2), ("movement", 0, 0), ("since", 1, 0)
    watch = ("watch", 0, 1)
    detail = Detail(frozenset({drum, wheel, press, watch}), frozenset({0}))

    assert detail.carried(ONE, OTHER) == Detail(
        frozenset({("region", 0, 2), ("movement", 1, 0), ("since", 0, 0), watch}), frozenset({2})
    )


def test_a_mechanism_that_would_stand_elsewhere_counts_after_all_others() -> None:
    assert Detail(frozenset({("movement", 1, 0)})).carried(ONE, OTHER) == Detail(
        frozenset({("movement", 3, 0)})
    )


def test_what_is_not_there_is_not_looked_at() -> None:
    detail = Detail(frozenset({("region", 0, 0), ("filter", 1, 0)}), frozenset({1}))

    assert detail.carried(OTHER, ONE).carried(ONE, OTHER) == Detail(frozenset({("region", 0, 0)}))


def test_everything_stays_everything() -> None:
    assert ALL.carried(ONE, OTHER) == ALL
    assert NO_DETAIL.carried(ONE, OTHER) == NO_DETAIL


def test_movements_that_were_not_drawn_are_looked_at_where_any_time_is() -> None:
    drum = ("region", 1, 2)

    assert Detail(frozenset({drum})).moving_too(ONE, OTHER) == Detail(
        frozenset({drum, ("movement", 0, 0)})
    )
    assert NO_DETAIL.moving_too(ONE, OTHER) == NO_DETAIL
    assert ALL.moving_too(ONE, OTHER) == ALL
