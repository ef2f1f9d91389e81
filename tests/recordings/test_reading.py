"""Recordings read: waveforms, tables, traces, and what is said of those that cannot be read."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from behaviour.bench.capture import CaptureError, Sort, Stretch, without_blinks
from behaviour.bench.channels import mapped
from behaviour.bench.reading import read_captures
from behaviour.rehearse.stage import run_of
from behaviour.rehearse.walking import perform
from behaviour.rehearse.waveform import vcd_text
from behaviour.story import replay
from tests.reading import model_of, spec

CAROUSEL = spec("specs/confetti-carousel.yaml")

WIRES = """\
$timescale 100 ns $end
$scope module logic $end
$var wire 1 ! D0 $end
$var wire 1 " valve $end
$var wire 1 # lamp.green $end
$var wire 1 $ lamp.amber $end
$upscope $end
$enddefinitions $end
#0
x!
0"
1#
0$
#20
0!
#7000
0#
#7003
1$
#9000
1"
1!
#10000
"""

TABLE = """\
# made by hand, 9c71-3658
time [ms];lid;Trigger;loaded
0;closed;released;6
10.5;;pressed;
20;open;;5
"""

TRACE = """\
half a li
0 carousel 9c71-3658 bytes 76
0 lid open
0 loaded 6
14:02:11.118 -> 200 lid closed
14:02:11.619 -> 700 carousel idle
900 carousel shot@100ms
4 carousel 9c71-3658 bytes 76
4 lid open
9 lid clo"""


def read(text, name="bench.vcd", maps=()):
    return read_captures(CAROUSEL, name, text, mapped(CAROUSEL, maps))


def told(capture, sort, name):
    signal = capture.signal(sort, name)
    return None if signal is None else [(each.at, each.value) for each in signal.stretches]


def refused(text, name, maps=()):
    with pytest.raises(CaptureError) as problem:
        read(text, name, maps)
    return str(problem.value)


def test_a_waveform_of_a_run_says_what_the_run_does():
    performance = perform(CAROUSEL, CAROUSEL.walkthroughs[0])
    run = run_of(performance.moments)
    views = replay(CAROUSEL, run)

    (capture,) = read(vcd_text(CAROUSEL, run))

    assert capture.fingerprint == "9c71-3658"
    assert capture.unused == ()
    for view in views:
        at = view.loop * CAROUSEL.loop
        for place, item in enumerate(CAROUSEL.inputs):
            assert capture.signal(Sort.INPUT, item.name).value(at) == view.stimulus.raw[place]
        for place, output in enumerate(CAROUSEL.outputs):
            assert capture.signal(Sort.OUTPUT, output.name).value(at) == view.real[place]
        assert capture.signal(Sort.COUNTER, "loaded").value(at) == str(view.state.counters[0])


def test_wires_of_a_logic_analyser_read_by_name_and_by_map_whatever_the_timescale():
    (capture,) = read(WIRES, maps=["D0=lid"])

    # the lid is pulled up and closed to ground: low is closed
    assert told(capture, Sort.INPUT, "lid") == [(2, "closed"), (900, "open")]
    assert told(capture, Sort.OUTPUT, "valve") == [(0, "shut"), (900, "open")]
    # between two wires of one lamp it is neither for 300 ns: that is no value of its own
    assert told(capture, Sort.OUTPUT, "lamp") == [(0, "green"), (700, "amber")]
    assert (capture.begins, capture.ends) == (0, 1000)


def test_a_wire_can_be_mapped_to_a_value_that_it_is_low_for():
    (capture,) = read(WIRES, maps=["D0=!trigger.pressed"])

    assert told(capture, Sort.INPUT, "trigger") == [(2, "pressed"), (900, "released")]
    assert capture.signal(Sort.INPUT, "lid") is None


def test_a_wire_of_which_nothing_is_ever_known_is_not_there():
    (capture,) = read(WIRES.replace('0"', 'x"').replace('1"', 'z"'))

    assert capture.signal(Sort.OUTPUT, "valve") is None
    assert capture.signal(Sort.OUTPUT, "lamp") is not None


def test_what_has_no_name_of_the_file_is_left_aside_and_named():
    (capture,) = read(WIRES)

    assert capture.unused == ("logic.D0",)


def test_a_table_has_its_unit_in_its_head_and_empty_cells_where_nothing_changed():
    (capture,) = read(TABLE, "logger.csv")

    assert told(capture, Sort.INPUT, "lid") == [(0, "closed"), (20_000, "open")]
    assert told(capture, Sort.INPUT, "trigger") == [(0, "released"), (10_500, "pressed")]
    assert told(capture, Sort.COUNTER, "loaded") == [(0, "6"), (20_000, "5")]
    assert capture.fingerprint == "9c71-3658"


def test_a_table_without_a_unit_is_in_seconds():
    (capture,) = read("Time,lid\n0.5,1\n0.75,0\n", "logger.csv")

    assert told(capture, Sort.INPUT, "lid") == [(500_000, "open"), (750_000, "closed")]


def test_each_power_up_in_a_trace_begins_a_recording_and_a_last_line_cut_off_is_left_out():
    first, second = read(TRACE, "serial.log")

    assert told(first, Sort.INPUT, "lid") == [(0, "open"), (200_000, "closed")]
    assert told(first, Sort.REGION, "carousel") == [(700_000, "idle"), (900_000, "shot@100ms")]
    assert first.counted
    assert first.from_power_up
    assert first.line == 2
    assert told(second, Sort.INPUT, "lid") == [(4_000, "open")]
    assert second.line == 8


def test_the_head_of_a_trace_may_leave_out_the_memory_as_that_of_python_does():
    (capture,) = read("0 carousel 9c71-3658\n0 lid open\n", "serial.log")

    assert capture.fingerprint == "9c71-3658"
    assert told(capture, Sort.INPUT, "lid") == [(0, "open")]


def test_what_a_trace_says_of_upset_memory_is_kept_in_sight():
    for line in ("7 upsets 1", "7 upsets of states 1"):
        (capture,) = read(f"0 carousel 9c71-3658\n0 lid open\n{line}\n", "serial.log")

        assert capture.unused == ("upsets",)


def test_a_trace_goes_on_across_the_rollover_of_the_milliseconds():
    begins = 2**32 - 10
    text = f"{begins} carousel 9c71-3658 bytes 76\n{begins} lid open\n5 lid closed\n"

    (capture,) = read(text, "serial.log")

    assert told(capture, Sort.INPUT, "lid") == [
        (begins * 1000, "open"),
        ((begins + 15) * 1000, "closed"),
    ]


def test_a_blink_shorter_than_meant_gives_way_to_what_comes_after_it():
    stretches = (Stretch(0, "a"), Stretch(100, "none"), Stretch(103, "b"), Stretch(900, "a"))

    found = without_blinks(stretches, 10)

    assert found == (Stretch(0, "a"), Stretch(100, "b"), Stretch(900, "a"))


@pytest.mark.parametrize(
    ("name", "text", "says"),
    [
        ("a.vcd", "", "this file is empty"),
        ("a.vcd", "$timescale 1 us $end $var wire 1 ! lid $end #5 1! #3", "line 1: time goes back"),
        ("a.vcd", "$var wire 1 ! lid $end\n#5\n1!", "line 2: the file does not say its `$times"),
        ("a.vcd", "$timescale 1 ns $end\n#0\n1!", "line 3: `!` stands for no wire"),
        ("a.vcd", "$timescale 1 ns $end\n#0\n", "no wire is declared"),
        ("a.vcd", "$timescale 1 ns $end\n$nonsense $end", "line 2: this is no waveform file"),
        (
            "a.vcd",
            "$timescale 1 ns $end $var wire 1 ! lid $end\n#0\n1!\n#9\nx!",
            "line 5: `lid` is `x` here, not 0 or 1",
        ),
        ("a.csv", "lid,valve\n1,0\n", "line 1: `lid` does not begin a table of signals"),
        ("a.csv", "time,lid\n", "nothing stands under the head"),
        ("a.csv", "time,lid\n0,closed,1\n", "line 2: 3 cells stand here, and 2 in the head"),
        ("a.csv", "time,lid\n0,ajar\n", "line 2: `lid` has no value `ajar`; there is `closed`"),
        ("a.csv", "time,lid\nnoon,open\n", "line 2: `noon` is no time"),
        ("a.csv", "time,lid\n2,open\n1,closed\n", "line 3: time goes back here"),
        ("a.csv", "time,lid,lid\n0,1,1\n", "line 1: two columns are called `lid`"),
        ("a.csv", "time,drum\n0,1\n", "line 2: what a high `drum` stands for does not follow"),
        ("a.csv", "time,loaded\n0,full\n", "line 2: `full` is no count of `loaded`"),
        ("a.csv", "time,carousel\n0,asleep\n", "line 2: `carousel` has no state `asleep`"),
        ("a.csv", "time,D0\n0,1\n", "no channel has a name of the file: there are `D0`"),
        ("a.log", "200 lid closed\n", "the line that the firmware prints at power-up is not"),
        (
            "a.log",
            "0 carousel 9c71-3658 bytes 76\n0 lid open\nwhat?\n7 lid closed\n",
            "line 3: `what?` cannot be read: a line of a trace is `MS NAME VALUE`",
        ),
        (
            "a.log",
            "9 carousel 9c71-3658 bytes 76\n20 lid open\n10 lid closed\n",
            "line 3: time goes back here, without a line of power-up",
        ),
    ],
)
def test_what_cannot_be_read_is_said_with_its_line(name, text, says):
    assert says in refused(text, name)


@pytest.mark.parametrize(
    ("maps", "says"),
    [
        (["D0"], "`D0` maps nothing"),
        (["D0=lidd"], "the file has no `lidd`; there is `lid`"),
        (["D0=lid.ajar"], "the file has no `lid.ajar`"),
        (["D0=valve"], "`logic.D0` and `logic.valve` both say what `valve` is"),
        (["D9=lid"], "there is no channel `D9`: there are `logic.D0`"),
    ],
)
def test_what_cannot_be_mapped_is_said(maps, says):
    assert says in refused(WIRES, "a.vcd", maps)


CURTAIN = """\
    language: 1
    prop: Curtain
    loop: 10 ms
    inputs: {pull: {kind: button, steady: 20 ms, pull: up}}
    outputs:
      winch: {kind: motor, values: [still, up, down], pins: {enable: 5, dir: 6}, on_when: %s}
      glow: {kind: light, values: [dark, half], pin: 9, gives: {half: 50 %%}}
    regions:
      curtain:
        begins: low
        states:
          low: {leave: [{when: pull becomes pressed, go: high}]}
          high: {set: {winch: up, glow: half}, leave: [{after: 1 s, go: low}]}
    """

DRIVER = """\
time [ms],winch.enable,winch.dir,glow,pull
0,{off},{off},0,1
100,{on},{on},1,0
200,{on},{off},0,0
300,{off},{off},1,0
"""


@pytest.mark.parametrize(("on_when", "off", "on"), [("high", 0, 1), ("low", 1, 0)])
def test_a_motor_s_driver_says_by_its_lines_whether_it_turns_and_which_way(on_when, off, on):
    model = model_of(CURTAIN % on_when)

    (capture,) = read_captures(model, "driver.csv", DRIVER.format(off=off, on=on), {})

    assert told(capture, Sort.OUTPUT, "winch") == [
        (0, "still"),
        (100_000, "up"),
        (200_000, "down"),
        (300_000, "still"),
    ]


def test_a_line_that_is_dimmed_says_nothing_by_its_level_and_is_left_aside():
    model = model_of(CURTAIN % "high")

    (capture,) = read_captures(model, "driver.csv", DRIVER.format(off=0, on=1), {})

    assert capture.signal(Sort.OUTPUT, "glow") is None
    assert capture.unused == ("glow",)


def test_a_motor_s_direction_without_its_enable_is_refused():
    model = model_of(CURTAIN % "high")

    with pytest.raises(CaptureError, match="by both its `enable` and its `dir`"):
        read_captures(model, "driver.csv", "time,winch.dir\n0,1\n", {})


SOUND = (WIRES, TABLE, TRACE)


@given(st.data())
def test_whatever_a_file_holds_it_is_read_or_refused_in_one_sentence(data):
    text = data.draw(st.one_of(st.text(max_size=200), st.sampled_from(SOUND)))
    for _ in range(data.draw(st.integers(0, 4))):
        at = data.draw(st.integers(0, len(text)))
        end = data.draw(st.integers(at, min(len(text), at + 8)))
        text = (
            text[:at] + data.draw(st.text(alphabet="01xz#$ \n,;.:bB-lid", max_size=4)) + text[end:]
        )
    name = data.draw(st.sampled_from(["a.vcd", "a.csv", "a.log"]))

    captures, why = (), ""
    try:
        captures = read(text, name)
    except CaptureError as problem:
        why = str(problem)

    assert "\n" not in why
    for capture in captures:
        for signal in capture.signals:
            moments = [each.at for each in signal.stretches]
            assert moments
            assert moments == sorted(set(moments))
