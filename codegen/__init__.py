"""From a model to the C that a coder keeps."""
