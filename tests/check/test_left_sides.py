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
        ("never: not not hatch is open and lamp is lit, for: 40 ms", "holds"),
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
