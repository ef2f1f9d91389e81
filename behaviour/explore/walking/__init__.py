"""The parts of the guided walk: strides of the concrete prop, aims, nearness, finds."""
