"""A run written as a waveform (VCD, IEEE 1364) and read back by a reader of others: pyvcd."""

from io import BytesIO

import pytest
from vcd.reader import TokenKind, tokenize

from behaviour.draw.stories import stories_of
from behaviour.pipeline import check_source
from behaviour.rehearse.waveform import vcd_text
from behaviour.story import replay
from tests.carousel import FORGETFUL
from tests.reading import source_of

PROPS = (
    FORGETFUL,
    source_of("specs/faulty/purse-without-a-bottom.yaml"),
    source_of("specs/faulty/carousel-forgot-lid.yaml"),
)


def read_back(text: str, times: list[int]) -> list[dict[str, str]]:
    """Read what is high, and each number, at each of some times."""
    names: dict[str, str] = {}
    scopes: list[str] = []
    now = 0
    values: dict[str, str] = {}
    found: list[dict[str, str]] = []
    for token in tokenize(BytesIO(text.encode())):
        match token.kind:
            case TokenKind.SCOPE:
                scopes.append(token.scope.ident)
            case TokenKind.UPSCOPE:
                scopes.pop()
            case TokenKind.VAR:
                names[token.var.id_code] = ".".join([*scopes, token.var.reference])
            case TokenKind.CHANGE_TIME:
                now = token.time_change
                while len(found) < len(times) and times[len(found)] < now:
                    found.append(dict(values))
            case TokenKind.CHANGE_SCALAR:
                values[names[token.scalar_change.id_code]] = token.scalar_change.value
            case TokenKind.CHANGE_VECTOR:
                values[names[token.vector_change.id_code]] = str(token.vector_change.value)
            case _:
                pass
    return found


@pytest.mark.parametrize("source", PROPS, ids=lambda source: source.name)
def test_a_waveform_read_back_is_the_run_loop_by_loop(source):
    checked = check_source(source, 20)
    model = checked.model
    for story in stories_of(checked.outcome.findings):
        views = replay(model, story.run)

        told = read_back(vcd_text(model, story.run), [view.loop * model.loop for view in views])

        assert len(told) == len(views)
        for view, values in zip(views, told, strict=True):
            high = {name for name, value in values.items() if value == "1" and "." in name}
            expected = {
                f"read.{item.name}.{raw}"
                for item, raw in zip(model.inputs, view.stimulus.raw, strict=True)
            }
            expected |= {
                f"counted.{item.name}.{now.steady}"
                for item, now in zip(model.inputs, view.state.inputs, strict=True)
            }
            expected |= {
                f"mechanism.{each.name}.{each.states[at].name}"
                for each, at in zip(model.mechanism, view.stimulus.mechanism, strict=True)
            }
            expected |= {
                f"states.{region.name}.{region.states[now.leaf].name}"
                for region, now in zip(model.regions, view.state.regions, strict=True)
            }
            for group, outputs in (("set", view.state.outputs), ("outputs", view.real)):
                expected |= {
                    f"{group}.{item.name}.{value}"
                    for item, value in zip(model.outputs, outputs, strict=True)
                }
            counters = {f"counters.{item.name}" for item in model.counters}
            assert high - counters - {"story.broken"} == expected
            assert {name: values[name] for name in counters} == {
                f"counters.{item.name}": str(count)
                for item, count in zip(model.counters, view.state.counters, strict=True)
            }


def test_a_waveform_has_no_date_and_is_the_same_each_time():
    checked = check_source(FORGETFUL, 20)
    story = stories_of(checked.outcome.findings)[0]

    text = vcd_text(checked.model, story.run)

    assert "$date" not in text
    assert text == vcd_text(checked.model, story.run)
    assert "$timescale 1 us $end" in text
