"""The pure part: terms, qualification, evidence check, verdict, file readers, re-judging."""
