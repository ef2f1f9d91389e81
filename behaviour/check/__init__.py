"""What is asked of a prop: its rules, and the checks that need no rule. One file a family."""
