"""Props made to any size: how the cost of a check grows with regions, inputs and times."""

from behaviour.source import Source

SECOND = 1000
"""In loops of 1 ms."""

STAGE = """\
  stage_{n}:
    begins: waiting
    interlocks: [{{when: lid is open, go: halted}}]
    states:
      waiting: {{leave: [{{when: start_{n} becomes pressed and {ready}, go: running}}]}}
      running:
        set: {{motor_{n}: forward}}
        leave:
          - {{when: end_{n} becomes made, go: holding}}
          - {{after: {time} ms, go: halted}}
      holding: {{leave: [{{after: {time} ms, go: back}}]}}
      back:
        set: {{motor_{n}: reverse}}
        leave: [{{after: {short} ms, go: resting}}]
      resting: {{leave: [{{after: 50 ms, go: waiting}}]}}
      halted: {{leave: [{{when: lid is shut for 500 ms, go: waiting}}]}}
"""


def show(times: int = 1) -> Source:
    """Give a prop of six regions and nine inputs, with loops of 1 ms and timeouts of 30 s or more.

    Four of its regions move something, each only while the one before rests; one blinks, and one
    counts who went.
    """
    stages = range(4)
    lines = ["language: 1", "prop: A long show", "loop: 1 ms", "inputs:"]
    lines += [
        (
            "  lid: {kind: switch, role: guard, values: [shut, open], safe: shut, "
            "steady: {open: 5 ms, shut: 200 ms}}"
        )
    ]
    for n in stages:
        lines.append(f"  start_{n}: {{kind: button, role: start, steady: 20 ms}}")
        lines.append(f"  end_{n}: {{kind: sensor, values: [clear, made], steady: 5 ms}}")
    lines.append("outputs:")
    lines += [
        f"  motor_{n}: {{kind: motor, values: [still, forward, reverse], pause: 20 ms}}"
        for n in stages
    ]
    lines += [
        "  lamp: {kind: lamp, values: [dark, lit]}",
        "counters: {shows: {from: 0, to: 3, begins: 0}}",
    ]
    lines.append("regions:")
    for n in stages:
        ready = "shows < 3" if n == 0 else f"stage_{n - 1} in waiting"
        lines.append(
            STAGE.format(n=n, ready=ready, time=30 * SECOND * times, short=SECOND * times).rstrip()
        )
    lines += [
        "  blinker:",
        "    begins: dark",
        "    states:",
        f"      dark: {{leave: [{{after: {SECOND * times} ms, go: lit}}]}}",
        f"      lit: {{set: {{lamp: lit}}, leave: [{{after: {SECOND * times} ms, go: dark}}]}}",
        "  counting:",
        "    begins: calm",
        "    states:",
        "      calm: {leave: [{when: stage_0 in holding, do: set shows to 1, go: counted}]}",
        "      counted: {leave: [{when: stage_0 not in holding, go: calm}]}",
        "rules:",
        *(
            f"  - {{name: motor {n} stops under an open lid, "
            f"never: motor_{n} is not still and lid is open, for: 20 ms}}"
            for n in stages
        ),
        (
            "  - {name: nothing runs for ever, while: motor_0 is forward, "
            f"at most: {31 * SECOND * times} ms}}"
        ),
        "excused: {self-running: the lamp is to blink}",
    ]
    return Source(f"six regions, times {times}", "\n".join(lines) + "\n")


def side_by_side(count: int) -> Source:
    """Give so many regions that have nothing to do with one another, each with a rule."""
    each = range(count)
    lines = ["language: 1", "prop: Side by side", "loop: 10 ms", "inputs:"]
    lines += [f"  push_{n}: {{kind: button, steady: 20 ms}}" for n in each]
    lines += ["outputs:", *(f"  light_{n}: {{kind: lamp, values: [dark, lit]}}" for n in each)]
    lines.append("regions:")
    for n in each:
        lines += [
            f"  part_{n}:",
            "    begins: dark",
            "    states:",
            f"      dark: {{leave: [{{when: push_{n} becomes pressed, go: lit}}]}}",
            f"      lit: {{set: {{light_{n}: lit}}, leave: [{{after: 2 s, go: dark}}]}}",
        ]
    lines += [
        "rules:",
        *(f"  - {{name: light {n} goes out, while: light_{n} is lit, at most: 2 s}}" for n in each),
    ]
    return Source(f"{count} regions side by side", "\n".join(lines) + "\n")
