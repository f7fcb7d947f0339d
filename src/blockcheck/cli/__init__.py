"""The command line: a thin face over ``api``. Only this room writes to the terminal and to files."""

from blockcheck.cli.app import app_of

__all__ = ["app_of"]
