"""The commands: one file each. It takes its arguments, asks the rooms below, and prints."""
