"""Draw the sample plans: ``python -m sample_plans.draw [FOLDER]``, by default over the files beside this script."""

from __future__ import annotations

import json
import sys
from pathlib import Path
from typing import Any

import pymupdf

from sample_plans.scan import scan_page, to_image_pt
from sample_plans.sheets import PLAN_IMPERIAL, PLAN_METRIC, feet_and_inches, imperial_set, metric_set
from sample_plans.tracing import edits, in_metres, truth

COVE_IMPERIAL = {"height": '4"', "toe": '1"', "radius": '1"', "thickness": '3/16"'}


def draw_all(folder: Path) -> list[Path]:
    """Write every sample file into a folder and list what was written."""
    folder.mkdir(parents=True, exist_ok=True)
    imperial = imperial_set()
    files = {
        "facility-imperial.pdf": document_bytes(imperial),
        "facility-metric.pdf": document_bytes(metric_set()),
        "facility-scan.png": scan_page(imperial[0]),
        "facility-edits.json": json_bytes(edits(PLAN_IMPERIAL.pt, feet_and_inches, COVE_IMPERIAL)),
        "facility-metric-edits.json": json_bytes(edits(PLAN_METRIC.pt, in_metres)),
        "facility-scan-edits.json": json_bytes(
            edits(lambda point: to_image_pt(PLAN_IMPERIAL.pt(point)), feet_and_inches, COVE_IMPERIAL)
        ),
        "facility-truth.json": json_bytes(truth()),
    }
    for name, content in files.items():
        (folder / name).write_bytes(content)
    return [folder / name for name in files]


def document_bytes(doc: pymupdf.Document) -> bytes:
    return doc.tobytes(garbage=3, deflate=True, no_new_id=True)


def json_bytes(value: dict[str, Any]) -> bytes:
    return (_laid_out(value) + "\n").encode()


def _laid_out(value: Any, depth: int = 0, width: int = 118) -> str:
    """Write JSON with short values on one line each."""
    flat = json.dumps(value, ensure_ascii=False)
    pad = "  " * (depth + 1)
    if len(flat) + len(pad) <= width or not isinstance(value, (dict, list)) or not value:
        return flat
    if isinstance(value, dict):
        items = [f"{json.dumps(k, ensure_ascii=False)}: {_laid_out(v, depth + 1)}" for k, v in value.items()]
    else:
        items = [_laid_out(v, depth + 1) for v in value]
    opening, closing = ("{", "}") if isinstance(value, dict) else ("[", "]")
    return opening + "\n" + ",\n".join(pad + item for item in items) + "\n" + "  " * depth + closing


if __name__ == "__main__":
    for path in draw_all(Path(sys.argv[1]) if len(sys.argv) > 1 else Path(__file__).parent):
        sys.stdout.write(f"{path}\n")
