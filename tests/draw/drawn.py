"""A drawn diagram taken apart again by Graphviz itself, so that tests speak of what is drawn."""

import json
import subprocess
from dataclasses import dataclass


@dataclass(frozen=True)
class Drawn:
    nodes: dict[str, dict[str, str]]
    edges: list[tuple[str, str, dict[str, str]]]
    frames: dict[str, dict[str, str]]
    inside: dict[str, set[str]]
    """The nodes within each frame, those of inner frames included."""

    def arrows(self, tail: str, head: str) -> list[str]:
        """List the words on the arrows from one thing to another."""
        onward = [(t, h) if a.get("dir") != "back" else (h, t) for t, h, a in self.edges]
        onward += [(h, t) for t, h, a in self.edges if a.get("dir") == "none"]
        return [
            self.words(name)
            for name in self.nodes
            if name.startswith("words ") and (tail, name) in onward and (name, head) in onward
        ]

    def words(self, name: str) -> str:
        """Give what is written in a node on one line, without the rule below its title."""
        label = self.nodes[name]["label"]
        return " ".join(label.replace("\\l", " ").replace("\\n", " ").replace("─", "").split())


def taken_apart(dot: str) -> Drawn:
    done = subprocess.run(
        ["dot", "-Tdot_json"], input=dot.encode(), capture_output=True, check=True
    )
    assert done.stderr == b""
    graph = json.loads(done.stdout)
    objects = graph.get("objects", [])
    names = {thing["_gvid"]: thing["name"] for thing in objects}
    frames = {thing["name"]: thing for thing in objects if "nodes" in thing or "subgraphs" in thing}
    return Drawn(
        nodes={thing["name"]: thing for thing in objects if thing["name"] not in frames},
        edges=[(names[edge["tail"]], names[edge["head"]], edge) for edge in graph.get("edges", [])],
        frames=frames,
        inside={
            name: {names[number] for number in frame.get("nodes", [])}
            for name, frame in frames.items()
        },
    )
