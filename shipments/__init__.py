"""First articles, lots, submissions, verdicts and their PDFs."""
