"""The vocabulary that every other room speaks: places, findings, errors. Imports nothing of ours."""
