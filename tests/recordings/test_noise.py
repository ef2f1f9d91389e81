"""Bounce and interference measured from recordings, and what is made of them."""

from pathlib import Path

from hypothesis import given
from hypothesis import strategies as st

from behaviour.bench.capture import Capture, Signal, Sort, Stretch
from behaviour.bench.noise import apart, noise_of, with_noise
from behaviour.bench.reading import read_captures
from behaviour.cli import main
from behaviour.numbers.block_noise import advised_loops
from tests.reading import ROOT, spec

CAROUSEL = spec("specs/confetti-carousel.yaml")

NOISY = """\
time [ms],lid,trigger,mark,drum
0,closed,released,clear,stopped
500,,pressed,,
500.4,,released,,
501.9,,pressed,,
520,,,,forward
600,,released,,
700,open,,,
706.3,closed,,,
800,,,made,
850,,,clear,
900,,,,stopped
1000,open,,,
1000.7,closed,,,
1011.2,open,,,
1300,closed,,,
1301,open,,,
"""


def measured(text):
    found = noise_of(CAROUSEL, read_captures(CAROUSEL, "noisy.csv", text, {}))
    return {noise.input: noise for noise in found}


def test_a_burst_that_ends_in_another_value_is_a_change_that_bounced():
    noise = measured(NOISY)

    assert noise["trigger"].changes == 2
    assert (noise["trigger"].bounce.at, noise["trigger"].bounce.lasted) == (500_000, 1_900)
    assert noise["lid"].bounce.lasted == 11_200


def test_a_burst_that_ends_where_it_began_is_a_disturbance_while_a_motor_ran_or_not():
    lid = measured(NOISY)["lid"]

    assert (lid.interference.at, lid.interference.lasted) == (700_000, 6_300)
    assert lid.interference.drives == ("drum",)
    assert (lid.at_rest.at, lid.at_rest.lasted) == (1_300_000, 1_000)


def test_what_the_hardware_does_quickly_is_no_disturbance():
    # the mark may be made for as little as 20 ms: changes 10 ms apart are two
    assert apart(CAROUSEL, CAROUSEL.input["mark"]) == 10_000
    assert measured(NOISY)["mark"].changes == 2
    assert measured(NOISY)["mark"].bursts == ()


def test_a_measured_figure_takes_the_place_of_a_guess_and_gives_the_filter():
    later = with_noise(CAROUSEL, measured(NOISY).values())

    bounce = dict(later.input["lid"].noise)["bounce"]
    assert (bounce.number, bounce.unit, bounce.known) == (11.2, "ms", "measured")
    # 11.2 ms are seen in two loops of 10 ms at most: two loops of filter
    assert advised_loops(later, later.input["lid"], "closed") == 2


def test_a_figure_of_the_maker_stays_where_less_was_seen():
    wet = spec("specs/confetti-carousel.yaml")
    text = NOISY.replace("1011.2,open", "1001,open")

    later = with_noise(with_noise(wet, measured(NOISY).values()), measured(text).values())

    assert dict(later.input["lid"].noise)["bounce"].number == 11.2


@given(st.lists(st.integers(1, 60_000), min_size=1, max_size=30), st.booleans())
def test_every_change_is_in_a_burst_or_alone_and_the_last_value_tells_which(gaps, starts_open):
    values = ("open", "closed") if starts_open else ("closed", "open")
    at, stretches = 0, [Stretch(0, values[0])]
    for number, gap in enumerate(gaps, start=1):
        at += gap
        stretches.append(Stretch(at, values[number % 2]))
    capture = Capture((Signal(Sort.INPUT, "lid", tuple(stretches)),), 0, at)

    (noise,) = noise_of(CAROUSEL, (capture,))

    assert (noise.changes % 2 == 1) == (stretches[-1].value != values[0])
    assert all(burst.lasted <= at for burst in noise.bursts)
    assert noise.changes + 2 * sum(not burst.is_change for burst in noise.bursts) <= len(gaps)


def test_numbers_say_what_was_measured_and_what_to_write(capsys, tmp_path):
    path = tmp_path / "noisy.csv"
    path.write_text(NOISY, encoding="utf-8")

    code = main(["numbers", str(ROOT / "specs/confetti-carousel.yaml"), "--capture", str(path)])

    out = capsys.readouterr().out
    assert code == 0
    assert "bounce: {value: 11.2 ms, known: measured}" in out
    assert "mark     2        none seen        none seen" in out
    assert "b = 11.2 ms, bounce of lid (measured)" in out
    assert "lid.bounce" not in out.split("It rests on guesses")[1]
    assert "fingerprint 9c71-3658" in out


def test_a_trace_has_no_bounce_in_it_and_is_refused(capsys, tmp_path):
    path: Path = tmp_path / "good.log"
    path.write_text("0 confetti 9c71-3658 bytes 76\n0 lid open\n", encoding="utf-8")

    code = main(["numbers", str(ROOT / "specs/confetti-carousel.yaml"), "--capture", str(path)])

    assert code == 2
    assert "record the wires themselves" in capsys.readouterr().err
