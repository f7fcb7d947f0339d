"""What opening isolators changes, solved for the islands that they lie in and no others."""
