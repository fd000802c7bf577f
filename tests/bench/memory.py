"""How much memory the window takes over long work on several jobs: python tests/bench/memory.py [ROUNDS]

A round opens a job, traces rooms, places openings, zooms and moves, turns through the pages of figures, opens dialogs,
undoes and closes. What counts is the resident memory of the window's own process, in MB, after each round; processes
beside it, which end or rest with the job, are listed apart. It needs a display (an Xvfb will do).
"""

from __future__ import annotations

import sys
import tempfile
import time
from pathlib import Path

import psutil

from takeoff import actions
from takeoff.apart import IDLE
from takeoff.gui.app import DeskWindow
from takeoff.gui.dialogs.common import Dialog
from takeoff.gui.panels.figures_panel import PAGES
from takeoff.gui.session import Selection
from takeoff.job.job import JobSettings

AT = "2026-03-02T08:00:00+00:00"
LIMIT_MB = 400.0
"""What an hour's work may take of memory."""
PLANS = ("facility-imperial.pdf", "facility-metric.pdf", "facility-scan.png")
ROOM = ((190.0, 224.0), (838.0, 224.0), (838.0, 620.0), (190.0, 620.0))
DIALOGS = ("settings", "systems", "reports", "history", "terms", "keys")


def settle(window: DeskWindow, seconds: float) -> None:
    """Let the window work for a while."""
    end = time.monotonic() + seconds
    while time.monotonic() < end:
        window.update()
        time.sleep(0.005)


def megabytes(process: psutil.Process) -> float:
    """Resident memory of a process."""
    return float(process.memory_info().rss) / 1e6


def click(window: DeskWindow, x_pt: float, y_pt: float) -> None:
    """Click on the plan."""
    x, y = (round(v) for v in window.canvas.to_pixel((x_pt, y_pt)))
    for event in ("<Motion>", "<ButtonPress-1>", "<ButtonRelease-1>"):
        window.canvas.event_generate(event, x=x, y=y)
    window.update()


def work(window: DeskWindow, job: Path) -> None:
    """Do what a person does with a job in some minutes."""
    window.take(actions.open_job(job))
    settle(window, 0.5)
    session = window.session
    assert session is not None
    for shift in range(6):
        window.use_tool("trace")
        for x, y in ROOM:
            click(window, x + 9.0 * shift, y + 9.0 * shift)
        window.canvas.event_generate("c")
        settle(window, 0.05)
    for run in tuple(session.job.runs)[:4]:
        session.select(Selection(runs=(run,)))
        settle(window, 0.05)
    for factor in (1.5, 1.5, 2.0, 2.0, 0.5, 0.4):
        window.canvas.zoom_by(factor)
        for _ in range(5):
            window.canvas.pan_by(40, 25)
            settle(window, 0.05)
    window.do("fit-sheet")
    for page in PAGES:
        window.desk.show_page(page)
        settle(window, 0.15)
    for id in DIALOGS:
        window.do(id)
        settle(window, 0.15)
        for child in window.winfo_children():
            if isinstance(child, Dialog):
                child.destroy()
    while session.store.can_undo and session.undo():
        window.update()
    window.close_job()
    settle(window, 0.2)


def main() -> None:
    """Work on the sample plans in turn and print what each round leaves."""
    rounds = int(sys.argv[1]) if len(sys.argv) > 1 else 60
    me = psutil.Process()
    with tempfile.TemporaryDirectory() as folder:
        jobs = []
        for name in PLANS:
            plan = actions.sample_plans() / name
            path = Path(folder) / f"{plan.stem}.takeoff"
            files = [(plan.name, plan.read_bytes())]
            store, _ = actions.new_job(path, files, JobSettings(name=plan.stem), sign=lambda: ("bench", AT))
            with store:
                actions.set_scale_ratio(store, store.job.sheets[1], "1:48")
            jobs.append(path)
        window = DeskWindow(Path(folder) / "window.json")
        window.geometry("1366x700+0+0")
        settle(window, 0.5)
        begun = time.monotonic()
        print(f"{'round':>5} {'minutes':>8} {'window':>8} {'beside it':>10}")
        most = 0.0
        for i in range(rounds):
            work(window, jobs[i % len(jobs)])
            here = megabytes(me)
            beside = sum(megabytes(child) for child in me.children(recursive=True))
            most = max(most, here)
            minutes = (time.monotonic() - begun) / 60.0
            print(f"{i + 1:5} {minutes:8.1f} {here:8.0f} {beside:10.0f}", flush=True)
        settle(window, IDLE + 5.0)
        beside = sum(megabytes(child) for child in me.children(recursive=True))
        print(f"at rest for a minute: window {megabytes(me):.0f} MB, beside it {beside:.0f} MB")
        window.shut()
    print(f"most {most:.0f} MB, limit {LIMIT_MB:.0f} MB")
    if most > LIMIT_MB:
        raise SystemExit(1)


if __name__ == "__main__":
    main()
