"""The answers: one file a command. Each is a function of a study that returns frozen objects."""
