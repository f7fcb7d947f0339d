"""The rules: one file each. ``RULES`` is all of them in order, ``run`` applies them."""

from blockcheck.rules._engine import Report, run
from blockcheck.rules._registry import RULES, rule_named
from blockcheck.rules._rule import Rule

__all__ = ["RULES", "Report", "Rule", "rule_named", "run"]
