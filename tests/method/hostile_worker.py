"""Reads every file of a folder, each in a process of its own, and prints what came of it.

One line of JSON for each file: outcome, seconds of processor time, and how far the peak of the
resident memory lies above that of the process before it read (megabytes). Limits of the operating
system stop what goes far over the bounds, so that a fault in a reader cannot take the machine.
"""

from __future__ import annotations

import json
import os
import resource
import sys
import time
from pathlib import Path

import numpy as np

from method.packed import pack
from method.readers import ReadError, read, resolve

HARD_SECONDS, HARD_BYTES = 30, 2 * 1024**3


def answered(reading):
    """Answers to a reading's questions: what is suggested, or else the first choice."""
    answers, current = {}, reading
    for _ in range(5):  # an answer may open further questions
        fresh = [one for one in current.questions if one.id not in answers]
        if not fresh:
            break
        answers |= {one.id: one.suggested or one.choices[0].value for one in fresh}
        current = reading.again(answers)
    return answers


def outcome(data, name):
    """What came of a file: refused when read or when resolved, or read, with what was said."""
    said = {"stage": "read"}
    try:
        reading = read(data, name)
        said |= {
            "oddities": [one.id for one in reading.oddities],
            "questions": [one.id for one in reading.questions],
            "labels": list(reading.labels[:9]),
            "tables": len(reading.tables),
        }
        said["stage"] = "resolve"
        spectra = resolve(reading, answered(reading))
        plain = np.isfinite(spectra.values).all() and len(pack(spectra))
        said |= {"stage": "done", "id": None if plain else "not-plain"}
    except ReadError as error:
        said |= {"id": error.id, "line": error.line, "column": error.column, "text": str(error)}
    except BaseException as error:
        said |= {"id": "EXCEPTION", "text": f"{type(error).__name__}: {error}"[:500]}
    return said


def child(path, out):
    """Read one file and write what came of it."""
    resource.setrlimit(resource.RLIMIT_CPU, (HARD_SECONDS, HARD_SECONDS))
    resource.setrlimit(resource.RLIMIT_AS, (HARD_BYTES, HARD_BYTES))
    data = path.read_bytes()
    before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    began = time.process_time()
    said = outcome(data, path.name)
    said["seconds"] = round(time.process_time() - began, 3)
    after = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    said["megabytes"] = round((after - before) / 1024, 1)
    os.write(out, json.dumps(said).encode())


def separately(path):
    """Read one file in a process of its own."""
    here, there = os.pipe()
    number = os.fork()
    if number == 0:
        try:
            child(path, there)
        finally:
            os._exit(0)
    os.close(there)
    with os.fdopen(here, "rb") as stream:
        text = stream.read()
    _, status = os.waitpid(number, 0)
    if not text:
        return {"stage": "read", "id": "KILLED", "text": f"status {status}"}
    return json.loads(text)


if __name__ == "__main__":
    import openpyxl  # noqa: F401 - loaded beforehand, so that it is not counted for a file

    for one in sorted(Path(sys.argv[1]).iterdir()):
        print(json.dumps({"name": one.name} | separately(one)), flush=True)
