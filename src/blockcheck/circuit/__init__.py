"""Layout to circuit: a frozen graph of conductors and contacts. Knows no rule and prints nothing."""
