"""A catalogue written as TOML reads back as it was."""

from __future__ import annotations

import math
from dataclasses import fields, is_dataclass, replace

import pytest

from takeoff.exchange.catalogue_file import default_catalogue, read_catalogue
from takeoff.exchange.catalogue_writer import catalogue_text


def same(one, other):
    if is_dataclass(one):
        return type(one) is type(other) and all(same(getattr(one, f.name), getattr(other, f.name)) for f in fields(one))
    if isinstance(one, tuple):
        return len(one) == len(other) and all(same(a, b) for a, b in zip(one, other, strict=True))
    if isinstance(one, float):
        return math.isclose(one, other, rel_tol=1e-11, abs_tol=1e-15)
    return one == other


@pytest.mark.parametrize("system", ["metric", "imperial"])
def test_the_shipped_catalogue_reads_back_as_it_was(system):
    catalogue = default_catalogue()
    assert same(read_catalogue(catalogue_text(catalogue, system).encode()), catalogue)


def test_figures_are_written_in_the_units_that_are_asked_for():
    # 8 mil are 203.2 µm, 3 gal are 11.356235352 L (a mil is 25.4 µm, a gallon 3.785411784 L).
    text = catalogue_text(default_catalogue(), "imperial")
    assert 'wet_film = "8 mil"' in text
    assert 'size = "3 gal"' in text
    metric = catalogue_text(default_catalogue())
    assert 'wet_film = "203.2 um"' in metric
    assert 'size = "11.356235352 L"' in metric


def test_a_changed_price_and_name_are_what_is_read_back():
    catalogue = default_catalogue()
    product = catalogue.products[0]
    packs = (replace(product.packs[0], price=123.45), *product.packs[1:])
    changed = replace(
        catalogue, products=(replace(product, name='a "quoted" name', packs=packs), *catalogue.products[1:])
    )
    read = read_catalogue(catalogue_text(changed).encode())
    assert read.products[0].packs[0].price == 123.45
    assert read.products[0].name == 'a "quoted" name'


def test_how_mat_hangs_and_trims_are_sold_reads_back():
    catalogue = default_catalogue()
    system = catalogue.system("mat-hygienic")
    steps = tuple(
        replace(step, at_openings="hung_around") if step.kind == "mat" else replace(step, direction="along")
        for step in system.steps
    )
    changed = replace(
        catalogue,
        systems=tuple(replace(s, steps=steps) if s is system else s for s in catalogue.systems),
        products=tuple(
            replace(p, stock_length=p.packs[0].size) if p.id == "panel-joint-strip" else p for p in catalogue.products
        ),
    )
    assert same(read_catalogue(catalogue_text(changed).encode()), changed)


def test_rates_that_a_file_leaves_out_are_told_until_somebody_gives_them_and_are_read_back_so():
    text = catalogue_text(default_catalogue())
    assert read_catalogue(text.encode()).rates.not_given == ()
    kept = [line for line in text.splitlines() if not line.startswith(("profit = ", "overhead = "))]
    left_out = read_catalogue("\n".join(kept).encode())
    assert left_out.rates.not_given == ("overhead", "profit")
    again = read_catalogue(catalogue_text(left_out).encode())
    assert again.rates.not_given == ("overhead", "profit")
    assert replace(again.rates, profit=0.2).not_given == ("overhead",)
