"""Rules that wait for what an output becomes: a loop finds it in the loop after it became so."""

import pytest

from behaviour.pipeline import Checked, check_source
from behaviour.source import Source

LAMP = """language: 1
prop: Lamp
loop: 10 ms
inputs:
  tap: {kind: button, steady: 20 ms}
outputs:
  lamp: {kind: light, values: [dark, lit, blue]}
regions:
  lamp_post:
    begins: BEGINS
    states:
      out: {leave: [{when: tap becomes pressed, go: on}]}
      on: {set: {lamp: lit}, leave: [{after: 1 s, go: out}]}
rules:
  - {name: asked, RULE}
"""


def answers(rule: str, begins: str = "out") -> tuple[str, bool]:
    """Give the answer on a rule, and whether it is empty."""
    text = LAMP.replace("RULE", rule).replace("BEGINS", begins)
    checked = check_source(Source("lamp.yaml", text), 30.0)
    assert isinstance(checked, Checked), checked
    kinds = [each.kind.name for each in checked.outcome.findings]
    return checked.outcome.rules[0].answer.value, "empty-rule" in kinds


@pytest.mark.parametrize(
    ("rule", "answer"),
    [
        ("whenever: lamp becomes lit, then: lamp_post in out, within: 990 ms", "holds"),
        ("whenever: lamp becomes lit, then: lamp_post in out, within: 980 ms", "broken"),
        ("whenever: lamp becomes lit, then: lamp_post in out", "holds"),
        ("whenever: lamp becomes dark, then: lamp is lit", "broken"),
        ("whenever: lamp becomes dark, then: lamp is dark, within: 0 ms", "broken"),
        ("whenever: lamp becomes dark, then: lamp is dark, within: 10 ms", "broken"),
        ("whenever: lamp becomes lit, then: lamp is lit, within: 0 ms", "holds"),
        (
            "whenever: lamp becomes lit, then: lamp is dark, within: 0 ms, only while: lamp is lit",
            "broken",
        ),
        (
            "whenever: lamp becomes lit, then: lamp is dark, within: 1 s, only while: lamp is lit",
            "holds",
        ),
    ],
)
def test_an_answer_is_due_from_the_loop_that_finds_the_change(rule, answer):
    assert answers(rule) == (answer, False)


def test_what_an_output_is_at_power_up_it_did_not_become():
    rule = "whenever: lamp becomes lit, then: lamp is dark, within: 0 ms, up to: lamp is dark"

    assert answers(rule, begins="on") == ("holds", True)


@pytest.mark.parametrize("within", ["", ", within: 1 s"])
def test_a_change_that_never_comes_makes_its_rule_empty(within):
    assert answers(f"whenever: lamp becomes blue, then: lamp is lit{within}") == ("holds", True)
