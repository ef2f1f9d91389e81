"""Recordings with lines lost, doubled or out of place are compared or refused: never a fault."""

from hypothesis import given, settings
from hypothesis import strategies as st

from behaviour.bench.capture import CaptureError
from behaviour.bench.comparing import compare
from behaviour.bench.following import Tolerance
from behaviour.bench.reading import read_captures
from behaviour.draw.svg import svg
from behaviour.draw.timing.recorded import difference_chart
from behaviour.rehearse.stage import run_of
from behaviour.rehearse.walking import perform
from behaviour.rehearse.waveform import vcd_text
from behaviour.report.comparison_data import comparison_object
from behaviour.report.comparison_text import comparison_text, verdict_word
from tests.reading import spec
from tests.recordings.test_comparing import TOLD

CAROUSEL = spec("specs/confetti-carousel.yaml")
OURS = vcd_text(CAROUSEL, run_of(perform(CAROUSEL, CAROUSEL.walkthroughs[0]).moments))
WORDS = ("1", "0", "open", "x", "5", " ")


@st.composite
def damaged(draw: st.DrawFn) -> tuple[str, str]:
    name, text = draw(st.sampled_from([("a.log", TOLD), ("a.vcd", OURS)]))
    lines = text.splitlines(keepends=True)
    for _ in range(draw(st.integers(1, 3))):
        at = draw(st.integers(1, len(lines) - 1))
        match draw(st.sampled_from(("lost", "twice", "too early", "changed"))):
            case "lost":
                lines.pop(at)
            case "twice":
                lines.insert(at, lines[at])
            case "too early":
                lines[at - 1], lines[at] = lines[at], lines[at - 1]
            case _:
                place = draw(st.integers(0, len(lines[at])))
                put = draw(st.sampled_from(WORDS))
                lines[at] = lines[at][:place] + put + lines[at][place + 1 :]
    return name, "".join(lines)


@settings(max_examples=60)
@given(damaged(), st.sampled_from([0, 2]))
def test_a_damaged_recording_is_compared_or_refused(given_, late):
    name, text = given_
    verdicts, why = [], ""
    try:
        for capture in read_captures(CAROUSEL, name, text, {}):
            told = compare(CAROUSEL, capture, Tolerance(2_000, 10_000, late, 10_000), 5)
            verdicts.append(verdict_word(told))
            assert comparison_text(CAROUSEL, name, told).startswith(verdicts[-1])
            assert comparison_object(CAROUSEL, "", name, told)["verdict"] == verdicts[-1]
            assert svg(difference_chart(CAROUSEL, told, name)).endswith(b"</svg>\n")
    except CaptureError as problem:
        why = str(problem)

    assert set(verdicts) <= {"agrees", "differs", "broken", "not decided"}
    assert verdicts or why
    assert "\n" not in why
