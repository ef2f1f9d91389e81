"""How conditions are read: what binds, what is bracketed, what `either` takes in."""

import pytest

from behaviour.language.load import read_model
from behaviour.model import And, Becomes, Compare, Condition, HeldFor, InState, Is, Not, Or
from behaviour.source import Source

FILE = """\
language: 1
prop: Conditions
loop: 10 ms
settings: {{half: 3, a_while: 1.5 s}}
inputs:
  a: {{kind: switch, values: [off, on, mid]}}
  b: {{kind: switch, values: [off, on]}}
counters: {{n: {{from: 0, to: 6, begins: 0}}}}
regions:
  main:
    begins: idle
    states:
      idle:
        leave: [{{when: "{condition}", go: idle}}]
      outer: {{begins: inner, states: {{inner: {{}}}}}}
"""

A_ON, B_ON, A_OFF = Is("a", ("on",)), Is("b", ("on",)), Is("a", ("off",))


def condition(text: str) -> Condition | None:
    model, mistakes = read_model(Source("x", FILE.format(condition=text)))
    assert mistakes == ()
    assert model is not None
    return model.regions[0].states[0].leave[0].when


@pytest.mark.parametrize(
    ("text", "meant"),
    [
        ("a is on", A_ON),
        ("a is not on", Is("a", ("on",), negated=True)),
        ("a is either on or mid", Is("a", ("on", "mid"))),
        ("a is either on or mid or off", Is("a", ("on", "mid", "off"))),
        ("a is neither on nor mid", Is("a", ("on", "mid"), negated=True)),
        ("b becomes on", Becomes("b", "on")),
        ("b is on for 3 s", HeldFor("b", "on", 3_000_000)),
        ("b is on for a_while", HeldFor("b", "on", 1_500_000)),
        ("n = 3", Compare("n", "=", 3)),
        ("n>=half", Compare("n", ">=", 3)),
        ("n != 0", Compare("n", "!=", 0)),
        ("main in outer", InState("main", 1)),
        ("main not in outer.inner", InState("main", 2, negated=True)),
        ("a is on and b is on and a is off", And((A_ON, B_ON, A_OFF))),
        ("a is on or b is on or a is off", Or((A_ON, B_ON, A_OFF))),
        ("(a is on and b is on) or a is off", Or((And((A_ON, B_ON)), A_OFF))),
        ("a is on and (b is on or a is off)", And((A_ON, Or((B_ON, A_OFF))))),
        ("((a is on))", A_ON),
        ("not a is on and b is on", And((Not(A_ON), B_ON))),
        ("not (a is on and b is on)", Not(And((A_ON, B_ON)))),
        ("a is either on or mid or b is on", Or((Is("a", ("on", "mid")), B_ON))),
        ("a is either on or mid and b is on", And((Is("a", ("on", "mid")), B_ON))),
        ("b is on or a is either on or mid", Or((B_ON, Is("a", ("on", "mid"))))),
        ("not a is on or not (b is on)", Or((Not(A_ON), Not(B_ON)))),
    ],
)
def test_a_condition_means_what_it_says(text: str, meant: Condition) -> None:
    assert condition(text) == meant


@pytest.mark.parametrize(
    ("text", "one", "other"),
    [
        (
            "a is on or b is on and a is off",
            "a is on or (b is on and a is off)",
            "(a is on or b is on) and a is off",
        ),
        (
            "a is on and b is on or a is off and n = 3",
            "(a is on and b is on) or (a is off and n = 3)",
            "a is on and (b is on or a is off) and n = 3",
        ),
    ],
)
def test_both_readings_of_a_mixture_are_shown(text: str, one: str, other: str) -> None:
    _, mistakes = read_model(Source("x", FILE.format(condition=text)))

    assert [mistake.hint for mistake in mistakes] == [f"write `{one}` or `{other}`"]
