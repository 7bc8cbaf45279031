"""A job slow enough to be killed half-way: it notes each step and ends with one mail."""

from __future__ import annotations

import os
import time
from pathlib import Path
from typing import Any

from jobs.mail import post
from jobs.models import Job
from jobs.queue import Progress, task


@task("planted.steps")
def steps(job: Job, progress: Progress) -> dict[str, Any]:
    """Write "process attempt step" lines into `file`, then one mail, idempotent by its key."""
    count = job.params["steps"]
    for step in range(1, count + 1):
        with Path(job.params["file"]).open("a", encoding="ascii") as out:
            out.write(f"{os.getpid()} {job.attempts} {step}\n")
        progress(step, count)
        time.sleep(job.params["pause"])
    post(to="lead@customer.example", subject="Done", body="Done.", key=f"planted:{job.pk}")
    return {"steps": count}
