"""A new issue under review: the old one faded in, blinking, lines and sizes left out."""

from __future__ import annotations

import os
from tkinter import font as tkfont

import numpy as np
import pymupdf
import pytest
from PIL import ImageGrab

from takeoff.gui.canvas.view import View
from takeoff.sheet.files import read_sheets


def screen(canvas):
    canvas.update()
    left, top = canvas.winfo_rootx(), canvas.winfo_rooty()
    grabbed = ImageGrab.grab(xdisplay=os.environ["DISPLAY"])
    return np.array(grabbed.convert("L"))[top : top + canvas.winfo_height(), left : left + canvas.winfo_width()]


@pytest.fixture
def reviewed(hand, opened, revision):
    hand.window.issue.open(revision)
    return hand


def quiet(hand):
    canvas = hand.window.canvas
    hand.wait(lambda: canvas.is_sharp and (canvas._old is None or canvas._old.share == 0.0 or canvas._old.is_ready))
    hand.settle()


def test_n_and_p_go_through_the_walls_by_money_and_back_and_k_builds_up_the_price(reviewed):
    window, panel = reviewed.window, reviewed.window.desk.review_panel
    review = window.review
    worths = review.prices.worths
    walked = [review.item]
    for _ in review.items[1:]:
        reviewed.key("n")
        walked.append(review.item)
    looked = [i.run for i in walked if i.run and not i.is_sure]
    changed = [i.run for i in walked if i.run in worths and i.is_sure]
    stays = [i.run for i in walked if i.run and i.run not in worths]
    assert [i.run for i in walked if i.run] == looked + changed + stays
    assert len(stays) == len([i for i in walked if i.found == "unchanged"])
    assert not any(i.run == "" for i in walked[-len(stays) :])
    for group in (looked, changed):
        assert group == sorted(group, key=lambda id: -worths[id].stake)
    for _ in review.items[1:]:
        reviewed.key("p")
        walked.pop()
        assert review.item is walked[-1]
    review.take("none")
    reviewed.key("b")
    assert panel.so_far.cget("text").startswith("Taken so far: USD 0.00 of ")
    while review.item.run != changed[0]:
        reviewed.key("n")
    reviewed.key("k")
    assert panel.so_far.cget("text").startswith(f"Taken so far: {review.item.price} of ")
    reviewed.key("k")
    assert panel.so_far.cget("text").startswith("Taken so far: USD 0.00 of ")


def test_arrow_keys_fade_from_the_new_issue_to_the_old_one_and_back(reviewed):
    window = reviewed.window
    for _ in range(3):
        reviewed.key("b")
    assert window.review.shown == "none"
    quiet(reviewed)
    new = screen(window.canvas)
    for _ in range(10):
        reviewed.key("Left")
    assert window.review.share == 1.0
    assert window.desk.review_panel.slider.get() == 0.0
    quiet(reviewed)
    old = screen(window.canvas)
    assert (np.abs(new.astype(int) - old) > 120).sum() > 200
    for _ in range(5):
        reviewed.key("Right")
    quiet(reviewed)
    half = screen(window.canvas)
    expected = (new.astype(int) + old) / 2
    assert np.percentile(np.abs(half - expected), 99.5) < 8
    for _ in range(5):
        reviewed.key("Right")
    quiet(reviewed)
    assert (np.abs(screen(window.canvas).astype(int) - new) > 8).mean() < 0.001


def test_the_old_issue_lies_where_the_registration_carries_it(hand, job_file):
    # a page of one black square, and a page on which it is 30 points further right and 20 further down, twice as large
    def page(x, y, side):
        with pymupdf.open() as document:
            made = document.new_page(width=1200, height=900)
            made.draw_rect((x, y, x + side, y + side), color=(0, 0, 0), fill=(0, 0, 0))
            data = document.tobytes()
        return data, read_sheets(data, "page.pdf")[0][0]

    hand.open(job_file)
    canvas = hand.window.canvas
    (old_data, old), (new_data, new) = page(100, 100, 50), page(700, 600, 50)
    canvas.show_sheet(new_data, new)
    canvas.show_old_issue(old_data, old, lambda p: ((p[0] - 30) / 2, (p[1] - 20) / 2))
    canvas.set_view(View(1.5, 150.0, 150.0, canvas.view.width, canvas.view.height))
    canvas.fade(1.0)
    quiet(hand)
    # the square from (100, 100) to (150, 150) is carried to (230, 220) to (330, 320)
    left, top = canvas.to_pixel((230.0, 220.0))
    right, bottom = canvas.to_pixel((330.0, 320.0))
    x, y = int(left) - 40, int(top) - 40  # with 40 px of paper round it, and nothing of the panels beside the plan

    def square():
        dark = np.argwhere(screen(canvas)[y : int(bottom) + 40, x : int(right) + 40] < 100)
        if not len(dark):
            return ()
        (high, near), (low, far) = dark.min(axis=0), dark.max(axis=0) + 1
        return near + x, high + y, far + x, low + y

    # on a busy machine the screen may still show what was there before
    hand.wait(lambda: np.allclose(square() or 0.0, (left, top, right, bottom), rtol=0.0, atol=1.5))


def test_blinking_shows_old_and_new_by_turns_and_stops_with_the_review(reviewed):
    window = reviewed.window
    reviewed.key("l")
    assert window.issue.is_blinking
    seen = set()
    reviewed.wait(lambda: seen.add(window.canvas._old.share) or len(seen) == 2)
    assert seen == {0.0, 1.0}
    reviewed.key("l")
    assert not window.issue.is_blinking
    assert window.canvas._old.share == window.review.share == 0.0
    reviewed.key("l")
    window.issue.put_aside()
    assert not window.issue.is_blinking
    assert window.canvas._old is None


def test_a_typed_size_leaves_smaller_changes_out_and_a_finer_one_compares_again(compared):
    window, reviewed = compared.window, compared
    review = window.review
    before = len(review.items)
    field = window.desk.review_panel.smallest
    reviewed.type(field.entry, "10'")
    assert len(review.items) < before
    assert all(i.run or i.size >= 10 * 0.3048 for i in review.items)
    assert len(window.desk.review_panel.tree.get_children()) == len(review.items)
    reviewed.type(field.entry, "-1")
    assert window.session.is_refusal
    taken = set(review.taken)
    reviewed.type(field.entry, '1"')
    reviewed.wait(lambda: window.review is not review)
    assert window.review.compared_from == pytest.approx(0.0254)
    assert len(window.review.items) >= before
    assert window.review.taken == taken


def test_every_line_of_the_list_can_be_read_to_its_end(reviewed):
    panel = reviewed.window.desk.review_panel
    reviewed.settle()
    tree = panel.tree
    face = tkfont.nametofont("TkDefaultFont")
    longest = max(face.measure(tree.item(i, "text")) for i in tree.get_children())
    assert tree.column("#0", "width") > longest > tree.winfo_width()
    assert tree.winfo_rootx() + tree.winfo_width() <= panel.winfo_rootx() + panel.winfo_width()
    tree.xview_moveto(1.0)
    reviewed.settle()
    assert tree.xview()[1] == 1.0
    assert tree.item("0", "text").startswith("☐ look: ")
