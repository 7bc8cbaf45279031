"""A small application of tests: one slow task, for workers that run as processes of their own."""
