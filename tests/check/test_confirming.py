"""Nothing is told to be broken whose run does not bear it out."""

from dataclasses import replace
from unittest.mock import patch

from behaviour.check.asking import Asking
from behaviour.check.confirming import confirmed
from behaviour.check.rules import check_rules
from behaviour.check.standing import check_standing
from behaviour.check.verdicts import Told
from behaviour.explore import unfollowed
from behaviour.explore.budget import Budget
from behaviour.findings import Answer
from behaviour.model import Model
from tests.check.test_presumed import DOORS
from tests.reading import model_of, spec

CAROUSEL = spec("specs/faulty/carousel-forgot-lid.yaml")


def families(model: Model) -> list[Told]:
    asking = Asking(model, Budget(400_000, 60))
    return [check_rules(asking), check_standing(asking)]


def test_what_its_run_bears_out_is_told_as_it_is():
    for told in families(CAROUSEL):
        assert confirmed(CAROUSEL, told) == told


def test_what_its_run_does_not_bear_out_is_not_told_and_not_decided():
    (told, _) = families(CAROUSEL)
    (found,) = (each for each in told.findings if each.run is not None)
    assert found.run is not None
    cut = replace(found.run, stimuli=found.run.stimuli[:-2])

    without = confirmed(CAROUSEL, Told(told.verdicts, (replace(found, run=cut),)))

    answers = {each.name: each.answer for each in without.verdicts}
    assert without.findings == ()
    assert answers[found.rule or ""] is Answer.NOT_DECIDED
    assert Answer.BROKEN not in answers.values()


def test_a_search_that_lets_pass_what_cannot_be_breaks_no_rule():
    """So it once was: a guard that is mistold at power-up was taken to be as it is told."""
    first_value = unfollowed._first_value
    model = model_of(DOORS.replace("TURNS", "30 ms"))

    with patch.object(unfollowed, "_first_value", lambda *given: (first_value(*given)[0], True)):
        (verdict,) = check_rules(Asking(model, Budget(400_000, 60))).verdicts

    assert verdict.answer is not Answer.BROKEN
