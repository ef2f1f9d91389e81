"""The guesses that verdicts rest on: named where they can matter, and nowhere else."""

import json

from jsonschema import Draft202012Validator

from behaviour.check.resting import guesses_of, guesses_of_rule
from behaviour.fingerprint import fingerprint
from behaviour.pipeline import check_source
from behaviour.report.json import outcome_object
from behaviour.report.text import outcome_text
from behaviour.source import Source
from tests.reading import model_of
from tests.report.test_json import SCHEMA

TWO_WHEELS = """\
language: 1
prop: Two wheels
loop: 10 ms
drives:
  drum: {kind: stepper, steps: 200, speed: {value: 40 rpm, known: guess}, ramp: 150 rpm/s,
         load: {inertia: {value: 0.002 kg m2, known: guess}}, stations: {count: 6}, tolerance: 15 %}
  bell: {kind: stepper, steps: 200, speed: 60 rpm, ramp: 300 rpm/s, load: {inertia: 0.001 kg m2,
         friction: 0.1 N m}, torque: [[0 rpm, 1 N m], [100 rpm, 1 N m]],
         tolerance: {value: 5 %, known: guess}}
inputs:
  pull: {kind: button, role: start, steady: 20 ms}
  cord: {kind: button, steady: 20 ms}
outputs:
  drum: {kind: motor, values: [still, forward]}
  bell: {kind: motor, values: [still, ring], hazard: no}
  lamp: {kind: lamp, values: [dark, lit]}
regions:
  turning:
    begins: waiting
    states:
      waiting: {leave: [{when: pull becomes pressed, go: going}]}
      going: {set: {drum: forward 1 station}, leave: [{when: drum is done, go: waiting}]}
  ringing:
    begins: quiet
    states:
      quiet: {leave: [{when: cord becomes pressed, go: loud}]}
      loud: {set: {bell: ring 90 deg}, leave: [{when: bell is done, go: quiet}]}
  shining:
    begins: off
    states:
      off: {leave: [{after: 1 s, go: on}]}
      on: {set: {lamp: lit}, leave: [{after: 1 s, go: off}]}
rules:
  - {name: a turn is soon over, while: drum is forward, at most: 2 s}
  - {name: a ring is soon over, while: bell is ring, at most: 2 s}
  - {name: it is never lit for long, while: lamp is lit, at most: 1 s}
  - {name: no ring in a turn, never: drum is forward and bell is ring}
"""
SURE = TWO_WHEELS.replace("{value: 40 rpm, known: guess}", "40 rpm")


def checked(text):
    return check_source(Source("wheels.yaml", text), 30)


def test_a_rule_rests_on_the_guesses_of_its_own_part_and_on_no_other():
    rules = {each.name: each.guesses for each in checked(TWO_WHEELS).outcome.rules}

    assert rules == {
        "a turn is soon over": ("drum.speed",),
        "a ring is soon over": ("bell.tolerance",),
        "it is never lit for long": (),
        "no ring in a turn": ("drum.speed", "bell.tolerance"),
    }


def test_a_figure_that_is_no_guess_is_not_named():
    rules = {each.name: each.guesses for each in checked(SURE).outcome.rules}

    assert rules["a turn is soon over"] == ()
    assert rules["no ring in a turn"] == ("bell.tolerance",)


def test_what_reads_the_file_alone_rests_on_no_guess():
    checks = {each.name: each for each in checked(TWO_WHEELS).outcome.checks}

    assert checks["unused"].guesses == ()
    assert checks["dead-end"].guesses == ("drum.speed", "bell.tolerance")


def test_a_window_of_the_hardware_and_coming_to_rest_carry_their_guesses_too():
    text = TWO_WHEELS.replace(
        "rules:\n",
        "mechanism:\n  place:\n    begins: any\n    states:\n      away: {leave: [{while: drum is "
        "forward, takes: {turn: 60 deg, of: drum}, go: there}]}\n      there: {}\nrules:\n  - "
        "{name: it stands still when it is lit, never: bell is moving and lamp is lit, for: 1 s}\n",
    )

    model = model_of(text)

    assert model.mechanisms["place"].movements()[0].guesses == ("drum.speed",)
    assert guesses_of_rule(model, model.rules[0]) == ("bell.tolerance",)
    assert guesses_of(model) == ("drum.speed", "bell.tolerance")


def test_where_a_figure_comes_from_is_no_part_of_a_window_s_meaning():
    model, sure = model_of(TWO_WHEELS), model_of(SURE)

    move, other = (each.regions[0].states[1].sets[0].move for each in (model, sure))
    assert move == other
    assert move.guesses != other.guesses
    assert fingerprint(model) != fingerprint(sure)


def test_text_and_json_say_it():
    found = checked(TWO_WHEELS)

    text = outcome_text(found.source, found.model, found.outcome, notes=False)
    told = outcome_object(found.source, found.model, found.outcome)

    assert "a turn is soon over (rests on a guess: drum.speed)\n" in text
    assert told["rules"][0]["guesses"] == ["drum.speed"]
    assert "guesses" not in told["rules"][2]
    Draft202012Validator(SCHEMA).validate(json.loads(json.dumps(told)))


def test_a_finding_says_what_it_rests_on():
    found = checked(
        TWO_WHEELS.replace("drum is forward, at most: 2 s", "drum is forward, at most: 80 ms")
    )

    broken = next(each for each in found.outcome.findings if each.rule == "a turn is soon over")

    assert broken.guesses == ("drum.speed",)
    assert "It rests on a guess: drum.speed" in outcome_text(
        found.source, found.model, found.outcome, notes=False
    )
