"""The one table of exit statuses."""

OK = 0
FOUND = 1
"""Something was found at or above the severity that fails."""
NOT_UNDERSTOOD = 2
"""The input or the call could not be understood."""
DEFECT = 3
"""A defect of blockcheck itself."""
INTERRUPTED = 130
