"""Background work: job rows, mail outbox, idempotency keys, safe HTML to PDF, figures, fonts."""
