"""The emitted C, built for this computer and held against the definition, loop by loop."""
