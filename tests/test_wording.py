"""What the model holds is written back as the language has it."""

import pytest

from behaviour.language.load import read_model
from behaviour.model import AddTo, SetTo
from behaviour.source import Source
from behaviour.wording import action_words, condition_words, duration, step_words, time_words
from tests.reading import model_of

PROP = """\
language: 1
prop: Words
loop: 10 ms
inputs:
  key: {kind: selector, values: [off, show, test], steady: 20 ms}
  lid: {kind: switch, values: [open, shut]}
outputs: {lamp: {kind: lamp, values: [dark, lit]}}
counters: {shots: {from: 0, to: 9, begins: 0}}
regions:
  other: {begins: here, states: {here: {begins: deep, states: {deep: {leave: [{go: here}]}}}}}
  line:
    begins: a
    states:
      a: {leave: [{when: CONDITION, go: b}]}
      b: {set: {lamp: lit}, leave: [{go: a}]}
"""


@pytest.mark.parametrize(
    ("micros", "words"),
    [
        (0, "0 ms"),
        (500, "0.5 ms"),
        (20_000, "20 ms"),
        (1_000_000, "1 s"),
        (1_500_000, "1.5 s"),
        (90_000_000, "90 s"),
        (120_000_000, "2 min"),
        (1_000_050, "1.00005 s"),
    ],
)
def test_a_time_is_written_in_the_unit_that_reads_best(micros, words):
    assert duration(micros) == words


@pytest.mark.parametrize(
    "words",
    [
        "lid is shut",
        "lid is not shut",
        "lid becomes open",
        "lid is shut for 1.5 s",
        "key is either off or test",
        "key is neither off nor test",
        "shots >= 3",
        "shots != 0",
        "other in deep",
        "other not in here",
        "not (lid is shut and key is off)",
        "lid is shut and (key is off or shots = 2) and other in here",
        "(lid is shut and key is off) or key becomes show",
    ],
)
def test_a_condition_is_written_as_it_was_read(words):
    text = PROP.replace("CONDITION", words)
    model = model_of(text)
    condition = model.region["line"].states[0].leave[0].when

    assert condition is not None
    assert condition_words(model, condition) == words


def test_what_is_not_known_yet_is_written_as_unknown():
    model, _ = read_model(Source("x.yaml", PROP.replace("when: CONDITION", "after: unknown")))

    assert model is not None
    after = model.region["line"].states[0].leave[0].after
    assert after is not None
    assert time_words(after.low) == "unknown"


def test_actions_are_written_as_in_do():
    assert action_words(AddTo("shots", 1)) == "add 1 to shots"
    assert action_words(AddTo("shots", -2)) == "take 2 from shots"
    assert action_words(SetTo("shots", 3)) == "set shots to 3"


@pytest.mark.parametrize(
    "words",
    [
        "press push",
        "release push",
        "lid becomes open",
        "pause 1.5 s",
        "see lid is open",
        "see lid is open and push is pressed within 40 ms",
        "restart",
    ],
)
def test_a_step_is_written_as_it_was_read(words):
    text = f"""\
        language: 1
        prop: Steps
        loop: 10 ms
        inputs: {{lid: {{kind: switch, values: [open, shut]}}, push: {{kind: button}}}}
        regions: {{line: {{begins: a, states: {{a: {{}}}}}}}}
        walkthroughs: {{one: [{words}]}}
        """
    model = model_of(text)

    assert step_words(model, model.walkthroughs[0].steps[0]) == words
