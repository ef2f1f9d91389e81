"""Pictures of a behaviour: the state diagram, as DOT and rendered."""
