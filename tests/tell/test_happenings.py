"""Whatever a prop does by the definition stands in the table, under what brought it about."""

from hypothesis import given
from hypothesis import strategies as st

from behaviour.model import And, Model
from behaviour.semantics import Look, power_up, step
from behaviour.tell.happenings import Happening, answers, by_themselves
from tests.reading import model_of
from tests.strategies import different_models


@st.composite
def played(draw: st.DrawFn) -> tuple[Model, list[tuple[str, ...]]]:
    """A random prop, and readings in which one input at a time changes and then holds."""
    model = draw(different_models())
    raw = [item.values[0] for item in model.inputs]
    readings = [tuple(raw)]
    for _ in range(draw(st.integers(1, 12))):
        if raw:
            place = draw(st.integers(0, len(raw) - 1))
            raw[place] = draw(st.sampled_from(model.inputs[place].values))
        readings += [tuple(raw)] * draw(st.integers(1, 8))
    return model, readings


@given(case=played())
def test_what_a_run_takes_stands_in_the_row_of_its_state(case) -> None:
    model, readings = case
    state = power_up(model, readings[0], {})
    for raw in readings[1:]:
        before, state = state, step(model, state, raw, {})
        for region, was, now in zip(model.regions, before.regions, state.regions, strict=True):
            if now.fired is None or now.fired.transition is None:
                continue
            way = now.fired.transition
            row = [*by_themselves(model, region, was.leaf)]
            for item in model.inputs:
                for value in item.values:
                    happening = Happening(item.name, value)
                    row += [each.way for each in answers(model, region, was.leaf, happening)]

            assert way in row


@given(case=played())
def test_what_one_change_brings_about_stands_in_its_cell(case) -> None:
    """Where a condition did not hold before the one change and does with it, the cell has it."""
    model, readings = case
    state = power_up(model, readings[0], {})
    for raw in readings[1:]:
        before, state = state, step(model, state, raw, {})
        became = [at for at, item in enumerate(state.inputs) if item.became]
        if len(became) != 1:
            continue
        happening = Happening(model.inputs[became[0]].name, state.inputs[became[0]].steady)
        unchanged = Look(
            model,
            tuple(
                old._replace(became=False) if at in became else new
                for at, (old, new) in enumerate(zip(before.inputs, state.inputs, strict=True))
            ),
            before.counters,
            tuple(region.leaf for region in before.regions),
        )
        for region, was, now in zip(model.regions, before.regions, state.regions, strict=True):
            way = None if now.fired is None else now.fired.transition
            if way is None or way.when is None or unchanged.holds(way.when):
                continue
            cell = answers(model, region, was.leaf, happening)

            assert way in [each.way for each in cell]


def test_what_is_so_on_entering_already_is_not_lost_behind_what_its_change_does() -> None:
    model = model_of("""\
        language: 1
        prop: Small
        loop: 10 ms
        inputs: {a: {kind: switch, values: [off, on]}}
        regions:
          r:
            begins: one
            states:
              one: {leave: [{when: a becomes on, go: two}, {when: a is on, go: three}]}
              two: {}
              three: {}
        """)
    region = model.regions[0]
    first, second = region.states[0].leave
    (answer,) = answers(model, region, 0, Happening("a", "on"))

    assert (answer.way, answer.also) == (first, And(()))
    assert by_themselves(model, region, 0) == (second,)
