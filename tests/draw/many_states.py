"""A prop with as many regions and states as are asked for."""

from textwrap import indent

from behaviour.model import Model
from tests.reading import model_of


def many_states(regions: int, each: int) -> Model:
    """Make regions that each go round, with an interlock, a way back and a time."""
    text = "language: 1\nprop: Forty\nloop: 10 ms\ninputs:\n"
    text += "  go_on: {kind: button, steady: 20 ms}\n  stop: {kind: button, steady: 20 ms}\n"
    text += "outputs:\n"
    text += "".join(f"  motor_{r}: {{kind: motor, values: [still, on]}}\n" for r in range(regions))
    text += "regions:\n"
    for r in range(regions):
        text += f"  part_{r}:\n    begins: s_{r}_0\n"
        text += f"    interlocks: [{{when: stop is pressed, go: s_{r}_{each - 1}}}]\n    states:\n"
        for s in range(each):
            after = f"s_{r}_{(s + 1) % each}"
            text += (
                f"      s_{r}_{s}:\n        set: {{motor_{r}: {'on' if s % 3 == 1 else 'still'}}}\n"
            )
            text += f"        leave: [{{when: go_on becomes pressed, go: {after}}}"
            text += f", {{after: {s + 1} s, go: s_{r}_0}}]\n" if s else "]\n"
    return model_of(indent(text, "    "))
