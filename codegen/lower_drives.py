"""How a board file drives each output: from the file's wiring to what is written of it."""

from collections.abc import Iterator

from behaviour.model import Model, Output
from behaviour.wires import WHOLE
from codegen.lower_steps import StepGenerator
from codegen.lower_wiring import SERVO_AT_0, SERVO_AT_180, Wiring, pulse_us
from codegen.names import shouted
from codegen.vocabulary import Vocabulary
from codegen.wired import (
    Dimmed,
    DriveCall,
    Driving,
    Exchange,
    Pulsed,
    Servo,
    Stepped,
    Switched,
    Wire,
    Yours,
)

SIGNALS = ("dir", "enable")
"""What a motor's pins are for beside its values and its steps."""

WAYS = 2
"""Ways that a pin for the direction tells apart."""

LONGEST_FADE = 4 * 60 * 60 * 1_000_000
"""In microseconds: 255 times as many milliseconds must be counted in 32 bits."""

FULL = "255u"
NOTHING = "0u"


def drives(
    model: Model, names: Vocabulary, wiring: Wiring, generators: dict[str, StepGenerator]
) -> tuple[DriveCall, ...]:
    """Give how each output is driven; `generators` has the step generator of each stepper."""
    return tuple(
        _Drive(item, names, wiring).call(generators.get(item.name)) for item in model.outputs
    )


class _Drive:
    """One output, with its names and the macros of its wiring."""

    def __init__(self, item: Output, names: Vocabulary, wiring: Wiring) -> None:
        self._item, self._names, self._wiring = item, names, wiring
        self._words = names.outputs[item.name]
        self._pins = dict(item.wiring.pins)
        self._moving = [value for value in item.values if value != item.rest]

    def call(self, generator: StepGenerator | None) -> DriveCall:
        words = self._words
        return DriveCall(
            word=self._item.name,
            call=words.board_drive,
            type=f"enum {words.tag}",
            values=tuple(words.values[value] for value in self._item.values),
            rest=words.values[self._item.rest],
            how=self._how(generator),
            move=None if words.move is None else words.move.board_move,
            done=None if words.move is None else words.move.board_done,
        )

    def _macro(self, what: str) -> str:
        return self._wiring.macro(self._item.name, what)

    def _how(self, generator: StepGenerator | None) -> Driving:
        item = self._item
        if item.wiring.pin is None and not self._pins:
            return Yours("it has no pin in the file")
        if item.kind == "servo":
            return self._servo()
        if "step" in self._pins:
            return self._stepped(generator)
        if self._words.move is not None:
            return Yours("it is moved by distance and has no pin for steps")
        strange = sorted({given.unit for _, given in item.wiring.gives} - {"%"})
        if strange:
            return Yours(f"it gives {' and '.join(strange)}, which no pin does by itself")
        if "dir" in self._pins and len(self._moving) > WAYS:
            return Yours("a pin for the direction tells two ways apart, and it has more values")
        return self._with_levels()

    # --- Levels ---------------------------------------------------------------------------------

    def _with_levels(self) -> Driving:
        wired = self._item.wiring
        wires, on_when = tuple(self._wires()), self._macro("on_when")
        if wired.pulse is not None:
            gap = None if wired.gap is None else self._macro("gap")
            return Pulsed(
                wires=wires,
                on_when=on_when,
                pulse=self._macro("pulse"),
                gap=gap,
                rests_at_once=self._item.hazard,
            )
        if isinstance(wired.fade, int) and wired.fade > LONGEST_FADE:
            return Yours("the emitted lights fade for four hours at most")
        fades = wired.fade is not None and wired.fade != 0
        if fades or any(0 < given.number < WHOLE for _, given in wired.gives):
            return self._dimmed(wires, fades=fades)
        return Switched(
            wires=wires,
            on_when=on_when,
            off_first=self._has_ways(),
            exchange=self._exchange(),
        )

    def _ways(self) -> list[str]:
        """List the values of a motor that have a pin each."""
        is_motor = self._item.kind == "motor"
        return [value for value in self._moving if is_motor and value in self._pins]

    def _has_ways(self) -> bool:
        return len(self._ways()) > 1

    def _exchange(self) -> Exchange | None:
        ways = [self._words.values[value] for value in self._ways()]
        if len(ways) != WAYS:
            return None
        return Exchange(macro=self._macro("turns"), ways=(ways[0], ways[1]))

    def _wires(self) -> Iterator[Wire]:
        """Give each wire: that of a value is on with it, a single one whenever it does not rest."""
        item, values = self._item, self._words.values
        moves = f"value != {values[item.rest]}"
        if item.wiring.pin is not None:
            yield Wire(pin=self._macro("pin"), test=moves, at_rest=False)
        for what in self._pins:
            pin = self._macro(f"pin.{what}")
            if what in values:
                test, is_rest = f"value == {values[what]}", what == item.rest
                yield Wire(pin=pin, test=test, at_rest=is_rest, duty=self._duty(what))
            elif what == "enable":
                yield Wire(pin=pin, test=moves, at_rest=False)
            else:
                first = f"value == {values[self._moving[0]]}"
                test = f"({first}) != ({self._macro('turns')} != 0u)"
                yield Wire(pin=pin, test=test, at_rest=False)

    def _duty(self, value: str) -> str:
        if (self._item.name, f"gives.{value}") in self._wiring.macros:
            return self._macro(f"gives.{value}")
        return NOTHING if value == self._item.rest and not self._pins else FULL

    def _dimmed(self, wires: tuple[Wire, ...], *, fades: bool) -> Driving:
        item = self._item
        if any(signal in self._pins for signal in SIGNALS):
            return Yours("which of its pins gives a part of the whole is not in the file")
        shares: tuple[tuple[str, str], ...] = ()
        if item.wiring.pin is not None:
            shares = tuple((self._words.values[each], self._duty(each)) for each in item.values)
        return Dimmed(
            wires=wires,
            shares=shares,
            on_when=self._macro("on_when"),
            fade=self._macro("fade") if fades else None,
            rests_at_once=item.hazard,
            off_first=self._has_ways(),
            exchange=self._exchange(),
        )

    # --- Servos and steppers --------------------------------------------------------------------

    def _servo(self) -> Driving:
        item = self._item
        given = dict(item.wiring.gives)
        if item.wiring.pin is None:
            return Yours("a servo has one pin")
        missing = [value for value in item.values if value not in given]
        if missing:
            return Yours(f"the file gives no angle for {' and '.join(missing)}")
        if any(not SERVO_AT_0 <= pulse_us(each) <= SERVO_AT_180 for each in given.values()):
            return Yours("a servo goes from 0 to 180 deg")
        if item.wiring.on_when == "low" or item.wiring.fade:
            return Yours("the emitted servos pulse high, and go at once")
        pulses = tuple((self._words.values[v], self._macro(f"gives.{v}")) for v in item.values)
        rest = self._macro(f"gives.{item.rest}")
        number = self._names.names.take(shouted("servo", item.name))
        return Servo(pin=self._macro("pin"), number=number, pulses=pulses, at_rest=rest)

    def _stepped(self, generator: StepGenerator | None) -> Driving:
        if generator is None:
            return Yours("it has a pin for steps, and `drives` do not say how fast it is")
        if self._item.wiring.gives:
            return Yours("its step generator has one speed, and `gives` names others")
        if len(self._moving) > (WAYS if "dir" in self._pins else 1):
            return Yours("its pins do not tell its values apart")
        if any(what in self._item.values for what in self._pins):
            return Yours("pins for its values do not go with one for steps")
        has_enable = "enable" in self._pins
        return Stepped(
            step=self._macro("pin.step"),
            direction=self._macro("pin.dir") if "dir" in self._pins else None,
            enable=self._macro("pin.enable") if has_enable else None,
            hold=self._macro("hold") if has_enable else None,
            on_when=self._macro("on_when"),
            turns=self._macro("turns"),
            first=self._words.values[self._moving[0]],
            generator=generator.prefix,
            ramps_down=generator.ramps_down,
            shortest_us=generator.shortest_us,
        )
