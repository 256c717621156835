"""Welds judged by the standard the user chooses: rules, verdicts, words, drawing."""
