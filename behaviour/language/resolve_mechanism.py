"""Looks up what the hardware reads and waits for, and makes mechanism regions of the model.

It knows nothing of the other parts of a file than their names.
"""

from behaviour import model
from behaviour.findings import Label
from behaviour.language import syntax
from behaviour.language.fields import known_value
from behaviour.language.phrases import with_article
from behaviour.language.resolve_conditions import Place, Where, find_state, resolve_condition
from behaviour.language.resolve_moves import resolve_turn, turn_guesses
from behaviour.language.resolve_names import Kind, Names, States, mechanism_states
from behaviour.language.syntax import Word

ANY = "any"


def resolve_mechanism(
    names: Names, mechanism: syntax.Mechanism, forced: dict[str, Word]
) -> model.Mechanism:
    """Make one mechanism region, as far as it can be; what is wrong in it is reported.

    `forced` maps each input to the mechanism region that forces it, and grows.
    """
    states = mechanism_states(mechanism)
    begins = mechanism.begins
    number = None
    if begins is not None and begins.text != ANY:
        number = find_state(names, states, begins)
    found: list[model.MechanismState] = []
    count = 0
    for at, state in enumerate(mechanism.states):
        movements = tuple(
            _movement(names, states, at, count + index, movement)
            for index, movement in enumerate(state.movements)
        )
        count += len(movements)
        found.append(
            model.MechanismState(
                number=at,
                name=state.name.text,
                reads=_reads(names, mechanism.name, state.reads, forced),
                movements=movements,
                about=state.about,
                span=state.name.span,
            )
        )
    return model.Mechanism(
        name=mechanism.name.text,
        begins=number,
        states=tuple(found),
        about=mechanism.about,
        span=mechanism.name.span,
    )


def _movement(
    names: Names, states: States, source: int, number: int, movement: syntax.Movement
) -> model.Movement:
    what = names.reading.place(states.region, states.names[source])
    during = None
    if movement.during is not None:
        during = resolve_condition(Place(names, Where.WHILE, what), movement.during)
    takes = movement.takes
    low, high = (resolve_turn(names, takes) if isinstance(takes, syntax.Turn) else takes) or (0, 0)
    return model.Movement(
        number=number,
        source=source,
        during=during,
        low=low,
        high=high,
        target=_target(names, states, movement.go),
        about=movement.about,
        guesses=turn_guesses(names, takes) if isinstance(takes, syntax.Turn) else (),
        span=movement.span,
    )


def _target(names: Names, states: States, go: Word | None) -> int:
    if go is None:
        return 0
    if go.text == "unknown":
        names.reading.mistakes.add(
            go.span,
            "this release does not leave open where a movement ends yet",
            label="a state is needed here",
            hint="write one movement for each state that it may end in",
        )
        return 0
    return find_state(names, states, go) or 0


def _reads(
    names: Names,
    mechanism: Word,
    reads: tuple[tuple[Word, Word], ...],
    forced: dict[str, Word],
) -> tuple[tuple[str, str], ...]:
    found = []
    for name, value in reads:
        named = names.find(name, (Kind.INPUT,))
        if named is None:
            continue
        if named.kind is not Kind.INPUT:
            message = (
                f"`{name.text}` is {with_article(named.kind.value)}, and `reads` is for inputs"
            )
            names.reading.mistakes.add(name.span, message, label="not here")
            continue
        first = forced.setdefault(name.text, mechanism)
        if first.text != mechanism.text:
            names.reading.mistakes.add_once(
                ("forced", name.text, mechanism.text),
                name.span,
                f"`{first.text}` moves `{name.text}` already, and `{mechanism.text}` cannot too",
                label=f"moved by `{mechanism.text}` too",
                hint="one mechanism region moves an input: give it all of its states",
                related=(Label(first.span, f"`{first.text}` moves it"),),
            )
        if named.values is not None and known_value(names.reading, value, name.text, named.values):
            found.append((name.text, value.text))
    return tuple(found)
