"""A prop of six regions and nine inputs, as people build them: everything of it is decided."""

from behaviour.findings import Answer, Outcome
from tests.bench.scale import show
from tests.bench.searches import checked

FEW_STATES = 4_000


def told(outcome: Outcome) -> tuple[list[object], list[object]]:
    verdicts = [(each.name, each.answer) for each in (*outcome.rules, *outcome.checks)]
    return verdicts, [(each.kind.name, each.place, each.message) for each in outcome.findings]


def test_a_show_of_six_regions_is_decided_whole_however_long_its_times_are():
    short, long = (checked(show(times), 100.0) for times in (1, 10))

    assert {each.answer for each in short.rules} == {Answer.HOLDS}
    assert {each.answer for each in short.checks} <= {Answer.HOLDS, Answer.BROKEN}
    assert told(short) == told(long)
    assert short.explored.symbolic_states < FEW_STATES
    assert long.explored.symbolic_states < FEW_STATES
