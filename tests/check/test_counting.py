"""Counters that the region which counts them is shown to keep within their bounds."""

from behaviour.check.asking import Asking
from behaviour.check.counting import kept_within
from behaviour.check.rules import check_rules
from behaviour.explore.budget import Budget
from behaviour.findings import Answer
from behaviour.model import Model
from tests.reading import model_of, spec


def kept(model: Model, region: str) -> set[str]:
    return set(kept_within(model, model.region[region]))


def counting(ways: str) -> Model:
    """Give a prop whose region `pump` counts strokes up to 3 by these ways."""
    return model_of(
        f"""
language: 1
prop: Pump
loop: 10 ms
inputs:
  lever: {{kind: switch, values: [up, down], steady: 20 ms}}
counters:
  strokes: {{from: 0, to: 3, begins: 0}}
regions:
  pump:
    begins: resting
    states:
      resting:
        leave: {ways}
      full:
        leave: [{{when: lever is up, do: set strokes to 0, go: resting}}]
"""
    )


def test_a_count_that_is_asked_for_where_it_is_counted_is_kept():
    """The file holds back the third heating itself."""
    assert kept(spec("specs/fog-cannon.yaml"), "boiler") == {"reheats"}


def test_so_is_one_that_an_earlier_state_asks_for():
    """The carousel takes one from `loaded` at the end of a shot, and asks before it turns."""
    assert kept(spec("specs/confetti-carousel.yaml"), "carousel") == {"loaded"}


def test_what_is_due_at_once_leaves_later_ways_no_turn():
    """Three jams of the chest are the last: it gives up before anybody can wake it."""
    assert kept(spec("specs/treasure-chest.yaml"), "hand") == {"jams"}
    first = "{when: strokes = 3, go: full}"
    second = "{when: lever becomes down, do: add 1 to strokes, go: stay}"

    assert kept(counting(f"[{first}, {second}]"), "pump") == {"strokes"}
    assert kept(counting(f"[{second}, {first}]"), "pump") == set()


def test_a_time_that_is_not_up_leaves_them_theirs():
    first = "{when: strokes = 3, after: 1 s, go: full}"
    second = "{when: lever becomes down, do: add 1 to strokes, go: stay}"

    assert kept(counting(f"[{first}, {second}]"), "pump") == set()


def test_what_hangs_on_others_is_left_to_the_search():
    """The purse takes a coin when she greets, and the teller greets only who has paid."""
    assert kept(spec("specs/fortune-teller.yaml"), "purse") == set()


def drawn_as_inputs(rule: str) -> set[str]:
    """Name what is drawn as an input where a rule of the sign is judged."""
    model = spec("specs/rotating-sign.yaml")
    asking = Asking(model, Budget())
    told = check_rules(asking, [each for each in model.rules if each.name == rule])

    assert [verdict.answer for verdict in told.verdicts] == [Answer.HOLDS]
    return {i.name for part, _ in asking._parts.values() for i in part.inputs if i.drawn}


def test_a_rule_that_lets_something_come_twice_is_asked_with_counters_from_the_first():
    assert "count swings" not in drawn_as_inputs("two swings a call")
    assert "count swings" in drawn_as_inputs("after a call the front comes round again")
