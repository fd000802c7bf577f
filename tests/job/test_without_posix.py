"""The job core runs where the calls of POSIX systems are not there: they are taken away, then all is imported and run.

What Windows lacks is listed in the documentation of the modules os, signal and select of Python 3.11 ("Availability:
Unix"), from memory.
"""

from __future__ import annotations

import subprocess
import sys

SCRIPT = """
import importlib, os, pkgutil, signal, sys
from pathlib import Path

def load():
    import takeoff
    for module in pkgutil.walk_packages(takeoff.__path__, "takeoff."):
        if not module.name.endswith("__main__") and ".gui" not in module.name:
            importlib.import_module(module.name)

load()  # other people's libraries may use what they find; ours are loaded anew without it
for name in [name for name in sys.modules if name.partition(".")[0] == "takeoff"]:
    del sys.modules[name]
for name in ("fcntl", "resource", "pwd", "grp", "termios", "pty", "posix", "syslog"):
    sys.modules[name] = None
CALLS = ("fork", "forkpty", "getuid", "geteuid", "getgid", "getegid", "setsid", "killpg", "getpgid", "setpgid", "nice",
    "sched_getaffinity", "sched_setaffinity", "sysconf", "mkfifo", "fchmod", "fchown", "chown", "lchown", "fchdir",
    "statvfs", "fstatvfs", "getloadavg", "pread", "pwrite", "sendfile", "uname", "wait3", "wait4", "WNOHANG",
    "O_DIRECTORY", "O_NOFOLLOW", "O_CLOEXEC", "O_SYNC", "O_DSYNC")
for name in CALLS:
    if hasattr(os, name):
        delattr(os, name)
for name in ("SIGKILL", "SIGXCPU", "SIGXFSZ", "SIGHUP", "SIGALRM", "SIGPIPE", "SIGUSR1", "SIGCHLD", "alarm"):
    if hasattr(signal, name):
        delattr(signal, name)
load()

from takeoff import actions, limits
from takeoff.actions.handover import import_json
from takeoff.exchange.job_json import job_to_json
from takeoff.errors import StoreError
from takeoff.job.edits import PutRoom
from takeoff.job.job import JobSettings
from takeoff.job.store import JobStore
from takeoff.model.walls import Room

folder, plan = Path(sys.argv[1]), actions.sample_plans() / "facility-imperial.pdf"
path, who = folder / "a.takeoff", {"sign": lambda: ("w", "2026-03-02T08:00:00Z")}
store, _ = actions.new_job(path, [(plan.name, plan.read_bytes())], JobSettings(name="Any"), **who)
with store:
    actions.set_scale_read(store, store.job.sheets[1])
    actions.apply_edits(store, (actions.sample_plans() / "facility-edits.json").read_bytes())
    store.do(PutRoom(room=Room(id="x")))
    store.undo()
    store.redo()
    exported = job_to_json(store)
    with JobStore.open(path, **who) as other:
        other.do(PutRoom(room=Room(id="y")))
    try:
        store.do(PutRoom(room=Room(id="z")))
    except StoreError as error:
        print("second writer:", error.message)
with JobStore.open(path, **who) as store:
    area = sum(face.quantities.net_area for face in actions.measure_ready(store.job)[0].faces)
actions.copy_job(path, folder / "b.takeoff")
import_json(folder / "c.takeoff", exported, **who).close()
(folder / "d.takeoff").write_bytes(path.read_bytes()[:-4_000])
print("rescued:", len(actions.rescue_job(folder / "d.takeoff", folder / "e.takeoff", **who)) >= 0)
with JobStore.open(folder / "b.takeoff") as copy:
    again = sum(face.quantities.net_area for face in actions.measure_ready(copy.job)[0].faces)
    print("measured alike:", abs(again - area) < 1e-9 and area > 100)
print("cores:", limits.cores() > 0)
"""


def test_all_is_imported_and_a_job_made_changed_copied_and_rescued_without_calls_of_posix(tmp_path):
    script = tmp_path / "script.py"
    script.write_text(SCRIPT)
    done = subprocess.run([sys.executable, str(script), str(tmp_path)], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    assert done.stdout.splitlines()[-3:] == ["rescued: True", "measured alike: True", "cores: True"]
