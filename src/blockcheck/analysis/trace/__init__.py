"""What was measured, explained: faults fitted, screened and ranked."""
