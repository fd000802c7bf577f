"""What a job lacks before it can be measured or priced, and the command that gives it."""

from __future__ import annotations

from takeoff.job.job import Job


def next_steps(job: Job, *, to_price: bool = False, path: str = "JOB") -> tuple[str, ...]:
    """Say in order what is missing; nothing where there is something to measure, or to price.

    Parameters
    ----------
    job
        The job.
    to_price
        Whether it is to be priced too, which takes a system.
    path
        The job file's name in the commands.
    """
    steps = []
    first = next(iter(job.sheets.values()), None)
    sheet = "SHEET" if first is None else first.number or str(first.id)
    if not job.runs:
        if not job.calibrations:
            steps.append(f"No sheet has a scale. Set it: takeoff scale {path} {sheet} --read, or --ratio 1:50.")
        steps.append(
            f"No wall is traced. Trace rooms: takeoff trace {path} {sheet} --all --height H; or apply an edits file: "
            f"takeoff apply {path} EDITS.json."
        )
    with_system = {room.id for room in job.rooms.values() if room.system}
    has_system = any(run.system or run.room in with_system for run in job.runs.values())
    if to_price and not has_system:
        steps.append(
            f"No wall has a system. Take them from a finish schedule: takeoff finishes {path} SHEET --apply; or give "
            f'each room its "system" in an edits file, such as "mat-hygienic". takeoff catalogue prints all there are.'
        )
    return tuple(steps)
