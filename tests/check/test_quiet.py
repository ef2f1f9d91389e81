"""Where regions come to while people do nothing new: held against following every single place."""

from hypothesis import assume, given
from hypothesis import strategies as st

from behaviour.check.hands import Hands
from behaviour.check.roles.quiet import At, Quiet, TooManyError
from behaviour.model import Model
from tests.strategies import different_models

MOST = 300
"""So many places are followed one by one."""


def one_by_one(here: Quiet, begins: set[At], hands: Hands) -> set[At]:
    found: set[At] = set()
    ahead = list(begins)
    while ahead:
        at = ahead.pop()
        if at not in found:
            found.add(at)
            assume(len(found) <= MOST)
            if not at.is_away:
                ahead += here.loops(at, hands)
    return found


@given(different_models(), st.data())
def test_of_places_alike_the_one_with_most_untold_is_enough(
    model: Model, data: st.DataObject
) -> None:
    owned = [each for each in model.outputs if each.name in model.owner]
    assume(owned)
    here = Quiet(model, data.draw(st.sampled_from(owned)))
    told = tuple((item.name, data.draw(st.sampled_from(item.values))) for item in model.inputs)
    names = frozenset(name for name, _ in told)
    untold = data.draw(st.frozensets(st.sampled_from(sorted(names)))) if names else frozenset()
    begins = {at._replace(told=told, untold=untold) for at in here.begins(Hands(dict(told)))}
    hands = Hands({}, names)
    try:
        followed = here.onward(begins, hands)
    except TooManyError:
        return
    every = one_by_one(here, begins, hands)

    assert followed <= every
    assert {at._replace(untold=frozenset()) for at in followed} == {
        at._replace(untold=frozenset()) for at in every
    }
    for at in every:
        alike = [other for other in followed if other[:3] == at[:3]]
        assert any(at.untold <= other.untold for other in alike)
