"""Left sides of `never ... for` and `whenever ... within` that say `not` of several inputs."""

import pytest

from behaviour.pipeline import Checked, check_source
from behaviour.source import Source

LAMP = """language: 1
prop: Lamp
loop: 10 ms
inputs:
  lid: {kind: switch, values: [shut, open], steady: 20 ms}
  hatch: {kind: switch, values: [shut, open], steady: {shut: 20 ms, open: 30 ms}}
outputs:
  lamp: {kind: light, values: [dark, lit]}
regions:
  lamp_post:
    begins: on
    states:
      on: {set: {lamp: lit}, leave: [{when: lid is open or hatch is open, go: out}]}
      out: {leave: [{when: lid is shut and hatch is shut, go: on}]}
rules:
  - {name: asked, RULE}
"""


@pytest.mark.parametrize(
    ("rule", "answer"),
    [
        ("never: not (lid is shut and hatch is shut) and lamp is lit, for: 40 ms", "holds"),
        ("never: not (lid is shut and hatch is shut) and lamp is lit, for: 30 ms", "broken"),
        ("never: not (lid is shut or lamp is dark), for: 30 ms", "holds"),
        ("never: not (lid is shut or lamp is dark), for: 20 ms", "broken"),
        ("never: not (not hatch is open) and lamp is lit, for: 40 ms", "holds"),
        ("whenever: not (lid is shut and hatch is shut), then: lamp is dark, within: 40 ms",
         "holds"),
        ("whenever: not (lid is shut and hatch is shut), then: lamp is dark, within: 30 ms",
         "broken"),
    ],
)  # fmt: skip
def test_not_of_several_is_sensed_as_what_it_comes_to(rule, answer):
    checked = check_source(Source("lamp.yaml", LAMP.replace("RULE", rule)), 30.0)

    assert isinstance(checked, Checked), checked
    assert checked.outcome.rules[0].answer.value == answer


# By the page: sensing of `lid is open` is 30 ms, of `hatch is open` 40 ms. The lamp goes out in the
# loop in which either is believed, and is lit beside an open lid in loop 0 alone; `lamp is lit` may
# last for ever.
@pytest.mark.parametrize(
    ("rule", "answer"),
    [
        ("never: (lid is open and lamp is lit) or (hatch is open and lamp is lit), for: 50 ms",
         "holds"),
        ("never: (lid is open and lamp is lit) or (hatch is open and lamp is lit), for: 30 ms",
         "not decided"),
        ("never: lid is open or lamp is lit, for: 2 s", "broken"),
        ("never: lid is open for 20 ms and lid is open and lamp is lit, for: 30 ms", "holds"),
        ("whenever: lid is open or lamp is lit, then: lamp is dark, within: 2 s", "broken"),
        ("whenever: lid is open or lid is open for 10 ms, then: lamp is dark, within: 50 ms",
         "holds"),
    ],
)  # fmt: skip
def test_what_cannot_be_followed_is_judged_without_sensing_and_with_the_most(rule, answer):
    checked = check_source(Source("lamp.yaml", LAMP.replace("RULE", rule)), 30.0)

    assert isinstance(checked, Checked), checked
    assert checked.outcome.rules[0].answer.value == answer
