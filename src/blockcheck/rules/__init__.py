"""The rules: one file each. ``RULES`` is all of them in order, ``run`` applies them."""

from blockcheck.rules._engine import Applied, Report, run
from blockcheck.rules._examples import Example, example_of
from blockcheck.rules._registry import RULES, rule_named
from blockcheck.rules._rule import Rule

__all__ = ["RULES", "Applied", "Example", "Report", "Rule", "example_of", "rule_named", "run"]
