"""The answers: one file a command. Each is a function of a case that returns frozen objects."""
