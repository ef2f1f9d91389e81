"""How a motorised prop behaves: the language, its one meaning, the checks, and what people see."""
