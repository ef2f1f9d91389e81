"""Small props that use every part of the language, for the C that is made of them."""

from dataclasses import replace
from pathlib import Path

from behaviour.language.load import read_model
from behaviour.model import Model, Role
from behaviour.source import Source
from tests.making import (
    add,
    becomes,
    both,
    button,
    count,
    counter,
    either,
    held,
    input_,
    inside,
    is_,
    is_not,
    motor,
    no,
    not_inside,
    output,
    prop,
    put,
    region,
    state,
    take,
    way,
)

SPECS = Path("specs")

NESTED = prop(
    region(
        "show",
        state(
            "act",
            state(
                "scene",
                state(
                    "dark",
                    leave=[
                        way("bright", after=(20, 90)),
                        way("stay", becomes("go", "pressed"), do=[add("turns")]),
                    ],
                ),
                state(
                    "bright",
                    sets={"lamp": "white"},
                    leave=[way("dark", after=(30, 50)), way("bright", is_("go", "pressed"))],
                ),
                sets={"lamp": "amber", "fan": "forward"},
                leave=[way("pause", after=(100, 160)), way("dark", becomes("go", "released"))],
            ),
            state("pause", leave=[way("bright", after=40)]),
            interlocks=[way("pause", is_("mode", "calm"), do=[take("turns", 2)])],
            leave=[way("end", after=600)],
            sets={"lamp": "red"},
        ),
        state(
            "end",
            sets={"lamp": "red"},
            leave=[way("act", becomes("go", "pressed")), way("locked", held("go", "pressed", 200))],
        ),
        state(
            "locked",
            state("inner", leave=[way("other", after=50)]),
            state("other", leave=[way("inner", after=30), way("end")]),
            lockout=True,
        ),
        interlocks=[
            way("dark", is_("mode", "mad"), do=[put("turns", 4)]),
            way("end", held("mode", "off", 70)),
        ],
    ),
    inputs=[
        button("go", steady=20),
        input_(
            "mode", "normal", "calm", "mad", "off", steady={"calm": 10, "off": 30}, kind="selector"
        ),
    ],
    outputs=[output("lamp", "off", "amber", "red", "white", kind="lamp"), motor("fan")],
    counters=[counter("turns", -2, 5, begins=1)],
)
"""States in states with times of their own, random times, a lockout, interlocks with a `do`."""

WATCHING = prop(
    region(
        "first",
        state(
            "a",
            leave=[
                way("b", both(becomes("x", "on"), inside("second", "d"))),
                way("c", count("seen", ">=", 2)),
            ],
        ),
        state(
            "b",
            sets={"one": "on"},
            leave=[
                way("a", both(inside("second", "f"), is_("x", "on")), do=[add("mine")]),
                way("c", after=60),
            ],
        ),
        state("c", leave=[way("a", either(inside("third", "i"), not_inside("second", "e")))]),
    ),
    region(
        "second",
        state(
            "d",
            leave=[
                way("e", inside("first", "b"), do=[add("seen")]),
                way("f", both(inside("first", "c"), is_("x", "off"))),
            ],
        ),
        state(
            "e",
            state("g", leave=[way("f", after=30)]),
            state(
                "f",
                cues=[(20, {"two": "on"}), (40, {"two": "off"})],
                leave=[
                    way(
                        "d",
                        either(both(inside("first", "a"), is_("x", "on")), count("mine", "=", 1)),
                    )
                ],
            ),
            sets={"two": "dim"},
        ),
        interlocks=[
            way("d", both(count("mine", ">", 1), inside("first", "c")), do=[put("seen", 0)])
        ],
    ),
    region(
        "third",
        state("h", leave=[way("i", both(inside("second", "f"), no(inside("first", "b"))))]),
        state("i", leave=[way("h", either(inside("second", "d"), count("seen", "!=", 1)))]),
    ),
    inputs=[input_("x", "off", "on", steady=10)],
    outputs=[output("one", "off", "on"), output("two", "off", "dim", "on", keeps=True)],
    counters=[counter("mine", 0, 3), counter("seen", 0, 2)],
)
"""Regions that look at each other's states and counters, before and after them in the file."""

TIMING = prop(
    region(
        "lights",
        state(
            "wait",
            leave=[
                way("run", becomes("b", "pressed"), after=0),
                way("odd", held("b", "released", 33.5)),
            ],
        ),
        state(
            "run",
            cues=[
                (0, {"lamp": "one"}),
                (0, {"lamp": "two"}),
                (10.5, {"lamp": "three"}),
                (40, {"bell": "on"}),
            ],
            leave=[
                way("wait", held("b", "pressed", 21)),
                way("stay", becomes("b", "released"), do=[add("n")]),
            ],
        ),
        state(
            "odd",
            cues=[(7, {"bell": "on"}), (8, {})],
            end=way("stay", do=[add("n", 3)]),
            leave=[way("last", becomes("b", "pressed"), after=(5, 29.5))],
        ),
        state(
            "last",
            cues=[(14, {"bell": "on"}), (30, {})],
            end=way("wait", do=[take("n", 7)]),
            sets={"lamp": "one"},
        ),
    ),
    inputs=[button("b", steady=13)],
    outputs=[
        output("lamp", "none", "one", "two", "three"),
        output("bell", "off", "on", kind="sound"),
    ],
    counters=[counter("n", 0, 9)],
    loop=7,
)
"""Times that no loop divides, several cues at once, cues that a transition beats."""

GUARDED = prop(
    region(
        "gate",
        state("rest", leave=[way("go", both(becomes("start", "pressed"), is_("guard", "shut")))]),
        state("go", sets={"drive": "forward"}, leave=[way("rest", is_not("limit", "clear"))]),
        state("barred", lockout=True),
        interlocks=[
            way("rest", is_("guard", "open", "ajar")),
            way("barred", both(is_("stop", "pressed"), becomes("guard", "shut"))),
            way("go", becomes("quick", "shut")),
        ],
    ),
    inputs=[
        input_(
            "guard",
            "open",
            "ajar",
            "shut",
            steady={"shut": 50, "ajar": 20},
            role=Role.GUARD,
            safe="shut",
            kind="switch",
            unplugged="ajar",
        ),
        input_("quick", "shut", "open", role=Role.GUARD, safe="shut", kind="switch"),
        replace(button("stop", steady=30, role=Role.STOP), safe="released"),
        button("start", steady=20, role=Role.START),
        input_("limit", "clear", "made"),
    ],
    outputs=[motor("drive")],
)
"""Guards and a stop: not safe before they have been so steadily."""

ODD_NAMES = prop(
    region(
        "prop",
        state("raw", leave=[way("Raw", is_("register_", "step"))]),
        state("Raw", leave=[way("in", is_("linux", "NULL"))]),
        state(
            "in", state("H", leave=[way("raw", is_("linux", "EOF"))]), leave=[way("raw", after=20)]
        ),
    ),
    region(
        "odd_names",
        state("lid_open", leave=[way("seen", both(is_("lid", "open"), inside("prop", "raw")))]),
        state(
            "seen",
            sets={"state": "LOOPS"},
            leave=[way("lid_open", either(is_("lid", "open"), is_("lid", "Open")))],
        ),
    ),
    region(
        "lid_open",
        state(
            "a",
            leave=[
                way("b", both(count("step", ">", 3), count("step", "<", 2))),
                way("c", either(is_("lid", "open"), is_not("lid", "open"))),
            ],
        ),
        state("b", leave=[way("a")]),
        state("c", leave=[way("a", count("step", ">=", 0), do=[add("step", 2)]), way("b")]),
    ),
    inputs=[
        input_("register_", "step", "power_up", steady=10),
        input_("linux", "NULL", "EOF"),
        input_("lid", "open", "Open", steady={"open": 20}),
        input_("lid_raw", "for_", "changed"),
    ],
    outputs=[output("state", "upset", "LOOPS", "loops"), output("rest", "on", "ON", "on_2")],
    counters=[counter("step", 0, 6), counter("lid_for", -3, -1, begins=-2)],
)
"""Names that meet in C, and conditions that always or never hold."""

FOLDED = prop(
    region(
        "r",
        state(
            "outer",
            state("inner", leave=[way("other", no(both(becomes("i", "mid"), is_("i", "low"))))]),
            state("other", leave=[way("inner", no(either(is_("i", "low"), is_("i", "top"))))]),
            interlocks=[way("inner", both(is_("i", "low"), is_("i", "mid")))],
            leave=[way("end", after=(10, 30)), way("stay")],
        ),
        state(
            "end", state("idle"), leave=[way("stay")], interlocks=[way("outer", is_("i", "mid"))]
        ),
    ),
    inputs=[input_("i", "low", "mid", "top", steady=20)],
)
"""Conditions that are always or never true once they are taken together, and what only they use."""

BARE = prop(
    region(
        "alone",
        state("here", leave=[way("there", after=30)]),
        state("there", leave=[way("here", after=(10, 20))]),
    )
)
"""Neither inputs nor outputs nor counters."""

STILL = prop(
    region("one", state("only")),
    inputs=[button("unused")],
    outputs=[output("never_set", "off", "on")],
)
"""Nothing ever happens."""

PROPS = {
    "nested": NESTED,
    "watching": WATCHING,
    "timing": TIMING,
    "guarded": GUARDED,
    "odd_names": ODD_NAMES,
    "folded": FOLDED,
    "bare": BARE,
    "still": STILL,
}


def spec(name: str) -> Model:
    """Read one of the demo props, or `faulty/NAME`."""
    path = SPECS / f"{name}.yaml"
    model, mistakes = read_model(Source(str(path), path.read_text(encoding="utf-8")))
    assert model is not None, mistakes
    return model


def demo_names() -> list[str]:
    return sorted(path.stem for path in SPECS.glob("*.yaml"))


def faulty_names() -> list[str]:
    """Name the faulty props that can be emitted: all but those with a time too long to count."""
    return sorted(
        f"faulty/{path.stem}"
        for path in SPECS.glob("faulty/*.yaml")
        if "# must find: timer-overflow" not in path.read_text(encoding="utf-8")
    )


def models() -> dict[str, Model]:
    """Map names to all the props that are put through C: those above and the demo props."""
    return PROPS | {name: spec(name) for name in demo_names()}
