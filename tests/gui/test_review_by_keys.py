"""A revision from its comparison to the change order that is sent, by keys alone; the actions are counted."""

from __future__ import annotations

import os
from pathlib import Path

from PIL import ImageGrab

from takeoff import actions
from takeoff.actions.quantities import lots_of
from takeoff.estimate.alternates import AsUsedPrices
from takeoff.gui.dialogs.revision_dialogs import ChangeDialog
from takeoff.units import signed

MOST_KEYS = 12
"""Key presses from the open review to the written change order, letters of the fields not counted."""


class Counted:
    """The hand with its key presses counted."""

    def __init__(self, hand):
        self.hand, self.presses = hand, 0

    def key(self, key):
        self.presses += 1
        self.hand.key(key)

    def in_dialog(self, dialog, sequence):
        self.presses += 1
        self.hand.key_in(dialog, sequence)

    def write(self, field, text):
        """Go on to a field with Tab, and write into it."""
        self.presses += 1
        inner = field.entry._entry
        self.hand.give_keys(inner)
        inner.delete(0, "end")
        inner.insert(0, text)


def used_price(job):
    """The price of a job with material as it is used, made anew."""
    catalogue = actions.catalogue_of(job)
    lots = lots_of(job, actions.measure_ready(job)[0].faces, catalogue)
    return AsUsedPrices().price(lots, catalogue, catalogue.rates)


def seen(name):
    """Keep a picture of the screen where the environment names a folder for it."""
    folder = os.environ.get("TAKEOFF_PICTURES")
    if folder:
        ImageGrab.grab(xdisplay=os.environ["DISPLAY"]).save(Path(folder) / f"{name}.png")


def test_a_revision_is_reviewed_taken_in_and_its_change_order_written_by_keys_alone(compared, record_property):
    hand, window = Counted(compared), compared.window
    review = window.review
    looked = [item for item in review.items if item.run and not item.is_sure]
    panel, told = window.desk.review_panel, []
    seen("review")
    for item in looked:  # each wall that asks for a look is looked at, and taken
        while review.item is not item:
            hand.key("n")
        assert item.figures in panel.found.cget("text")
        assert item.price in panel.tree.item(str(review.at), "text")
        told.append(panel.so_far.cget("text"))
        hand.key("k")
        assert item.run in review.taken
    told.append(panel.so_far.cget("text"))
    seen("taken")
    used = used_price(window.session.job)
    hand.key("Return")
    compared.wait(lambda: compared.dialogs(ChangeDialog))
    (dialog,) = compared.dialogs(ChangeDialog)
    compared.settle()
    seen("change")
    assert "A-101" in window.session.sheet.number
    change = used_price(window.session.job) - used
    money = signed(window.session.display.money(change))
    assert told[-1] == f"Taken so far: {money} of {money}"  # all that was found is taken now
    assert [line.split(" of ")[1] for line in told] == [money] * len(told)
    assert len(set(told)) == 1 + sum("stake" not in item.price for item in looked)
    shown = [dialog.table.tree.item(i, "values") for i in dialog.table.tree.get_children()]
    assert any("103 Wash" in row[0] for row in shown)
    price = window.session.display.money(actions.make_estimate(window.session.job).estimate.line("price").amount)
    assert price.split()[-1] in window.session.message
    for key, text in (("number", "07"), ("to", "The general contractor"), ("reason", "Addendum 2")):
        hand.write(dialog.form[key], text)
    hand.in_dialog(dialog, "<Control-Return>")
    written = compared.window.session.path.parent.glob("*change*.pdf")
    assert next(written, None) is not None, dialog.said.cget("text")
    seen("written")
    dialog.form.choose("table", "delta-by-line")
    dialog.changed("table", "delta-by-line")
    lines = [dialog.table.tree.item(i, "values") for i in dialog.table.tree.get_children()]
    assert {"Net area", "Cove", "Inside corners"} <= {row[0] for row in lines}
    compared.settle()
    seen("lines")
    hand.in_dialog(dialog, "<Escape>")
    assert not dialog.winfo_exists()
    record_property("presses", hand.presses)
    print(f"{hand.presses} key presses for {len(looked)} walls that asked for a look")
    assert hand.presses <= MOST_KEYS
