"""The window reads no plan itself: libraries that do are loaded in processes apart alone."""

from __future__ import annotations

import json
import subprocess
import sys

import pytest

from takeoff import actions
from tests.bench.hostile import forms, tiles

SAMPLE = actions.sample_plans() / "facility-imperial.pdf"
READERS = ("pymupdf", "pypdfium2", "ezdxf", "python_calamine", "openpyxl")
SCRIPT = """
import json, sys, time
from pathlib import Path
if __name__ == "__main__":
    from takeoff import actions
    from takeoff.gui.app import DeskWindow
    from takeoff.gui.dialogs.starting import start_job
    from takeoff.sheet.text import read_lines

    folder, plan = Path(sys.argv[1]), Path(sys.argv[2])
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


HARMFUL = """
import json, os, sys, time
from pathlib import Path
if __name__ == "__main__":
    from takeoff.gui.app import DeskWindow
    from takeoff.gui.dialogs.common import Dialog
    from takeoff.gui.dialogs.starting import start_job

    folder, sample = Path(sys.argv[1]), Path(sys.argv[2])
    window = DeskWindow(folder / "window.json")
    turns, told = [0], {}

    def turn():
        turns[0] += 1
        window.after(20, turn)

    def settle(is_there, seconds=240):
        end = time.monotonic() + seconds
        while not is_there() and time.monotonic() < end:
            window.update()
            time.sleep(0.02)
        return is_there()

    def words(widget):
        own = [str(widget.cget("text"))] if "text" in (widget.keys() if hasattr(widget, "keys") else ()) else []
        return " ".join([*own, *map(words, widget.winfo_children())])

    def start(plan):
        return start_job(window, folder / f"{plan.stem}.takeoff", [plan])

    def is_drawn():
        return settle(lambda: not window.canvas.renderer.is_busy)

    turn()
    told["forms"] = start(folder / "forms.pdf")
    window.update()
    (dialog,) = [w for w in window.winfo_children() if isinstance(w, Dialog)]
    told["said"] = "draw one another" in words(dialog)
    dialog.destroy()
    told["tiles"] = start(folder / "tiles.pdf")
    before = turns[0]
    told["alive"] = settle(lambda: turns[0] > before + 50)
    told["drawing"] = window.canvas.renderer.is_busy
    told["another"] = start(sample), is_drawn()
    os.environ["TAKEOFF_SHEET_SECONDS"] = "1"
    told["again"] = window.open_path(folder / "tiles.takeoff")
    told["refused"] = settle(lambda: window.session.is_refusal)
    told["why"] = "took more than 1 s" in window.session.message
    os.environ.pop("TAKEOFF_SHEET_SECONDS")
    (folder / "facility-imperial.takeoff").unlink()
    told["after"] = start(sample), is_drawn(), window.session.is_refusal
    window.shut()
    print(json.dumps(told))
"""


def run(tmp_path, source, *given):
    script = tmp_path / "script.py"
    script.write_text(source)
    command = [sys.executable, str(script), str(tmp_path), *map(str, given)]
    done = subprocess.run(command, capture_output=True, text=True, check=False, timeout=900)
    assert done.returncode == 0, done.stderr
    return json.loads(done.stdout.splitlines()[-1])


def test_a_job_is_started_scaled_and_drawn_without_reading_the_plan_in_the_window(tmp_path):
    told = run(tmp_path, SCRIPT, SAMPLE, json.dumps(READERS))
    assert told == {"started": True, "scale": True, "drawn": True, "lines": True, "table": 1, "loaded": []}


@pytest.mark.long
def test_a_plan_made_to_harm_is_refused_in_a_window_that_lives_and_another_plan_opens(tmp_path):
    (tmp_path / "forms.pdf").write_bytes(forms(30, twice=True))
    (tmp_path / "tiles.pdf").write_bytes(tiles(1))
    told = run(tmp_path, HARMFUL, SAMPLE)
    assert told == {
        "forms": False,
        "said": True,
        "tiles": True,
        "alive": True,
        "drawing": True,
        "another": [True, True],
        "again": True,
        "refused": True,
        "why": True,
        "after": [True, True, False],
    }
