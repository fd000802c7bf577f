"""The window reads no plan itself: libraries that do are loaded in processes apart alone."""

from __future__ import annotations

import json
import subprocess
import sys

from takeoff import actions

READERS = ("pymupdf", "pypdfium2", "ezdxf", "python_calamine", "openpyxl")
SCRIPT = """
import json, sys, time
from pathlib import Path
if __name__ == "__main__":
    from takeoff import actions
    from takeoff.gui.app import DeskWindow
    from takeoff.gui.dialogs.starting import start_job
    from takeoff.sheet.text import read_lines

    plan, folder = Path(sys.argv[1]), Path(sys.argv[2])
    window = DeskWindow(folder / "window.json")

    def settle(is_there):
        end = time.monotonic() + 120
        while not is_there() and time.monotonic() < end:
            window.update()
            time.sleep(0.02)
        return is_there()

    told = {"started": start_job(window, folder / "new.takeoff", [plan])}
    session = window.session
    told["scale"] = settle(lambda: session is not None and session.scale is not None)
    told["drawn"] = settle(lambda: not window.canvas.renderer.is_busy)
    told["lines"] = len(read_lines(session.store.source(session.sheet.source), session.sheet)) > 0
    (folder / "areas.csv").write_text("Room no.,Room name,Wall area (SF)\\n101,Hall,120\\n")
    told["table"] = len(actions.read_stated_areas((folder / "areas.csv").read_bytes(), "areas.csv").areas)
    told["loaded"] = [name for name in json.loads(sys.argv[3]) if name in sys.modules]
    window.shut()
    print(json.dumps(told))
"""


def run(tmp_path, plan):
    script = tmp_path / "script.py"
    script.write_text(SCRIPT)
    command = [sys.executable, str(script), str(plan), str(tmp_path), json.dumps(READERS)]
    done = subprocess.run(command, capture_output=True, text=True, check=False, timeout=400)
    assert done.returncode == 0, done.stderr
    return json.loads(done.stdout.splitlines()[-1])


def test_a_job_is_started_scaled_and_drawn_without_reading_the_plan_in_the_window(tmp_path):
    told = run(tmp_path, actions.sample_plans() / "facility-imperial.pdf")
    assert told == {"started": True, "scale": True, "drawn": True, "lines": True, "table": 1, "loaded": []}
