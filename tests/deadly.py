"""A worker of a fleet that dies of one machine, in a module that its process can import."""

from __future__ import annotations

import os
import signal

from cfgmigrate.fleet.groups import Record
from cfgmigrate.fleet.job import Job, prepare_one

DEADLY = "Twite"


def dies_of_one(job: Job) -> Record:
    if job.machine.name == DEADLY:
        os.kill(os.getpid(), signal.SIGKILL)
    return prepare_one(job)
