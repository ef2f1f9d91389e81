"""From the text of a behaviour file to the model, or to everything that is wrong with the text."""
