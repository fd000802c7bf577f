"""Systems and products in fields, with the arithmetic of a step beside them while it is edited."""

from __future__ import annotations

import tkinter
from collections.abc import Callable, Sequence
from dataclasses import replace
from functools import partial
from typing import get_args

from takeoff.actions import catalogue_forms as forms
from takeoff.actions.quantities import lots_of
from takeoff.gui.dialogs.systems_editor import NOT_YET, CatalogueDialog
from takeoff.gui.host import Host
from takeoff.gui.panels.details_panel import SUBSTRATES
from takeoff.gui.widgets import ChoiceField, Form, Row, button, clear, ctk, label, pack_labelled
from takeoff.job.reshape import free_id
from takeoff.model.systems import Basis, Catalogue, Product, Step, System

LABEL = 112
"""Width of a field's label in pixels at 100 %."""
SYSTEM = (
    Row("name", "Name"),
    Row("cure", "Cure", "From the last step until the room may be in service, such as 72 h."),
)
# fmt: off
STEP = (
    Row("name", "Name"),
    Row("product", "Product", "What is bought for it.", ()),
    Row("basis", "Counted by", "What labour and material are counted by.",
        tuple((basis, basis.replace("_", " ")) for basis in get_args(Basis))),
    Row("way", "Taken by", "What says how much a coat takes. A change keeps the film.",
        (("", "its amount"), ("wet_film", "wet film"), ("dry_film", "dry film"), ("spread", "spread"),
         ("mat_ratio", "resin to mat"))),
    Row("much", "How much", "Of one coat, such as 8 mil, 200 um, 200 ft2/gal or 5 m2/L."),
    Row("amount", "Amount", "Of what is no coat: of the product for each unit, such as 1 m/m or 0.10 lb/ft2."),
    Row("coats", "Coats", "So many times, material and labour."),
    Row("loss", "Loss", "Of what is bought, what does not end up on the wall, such as 12 %."),
    Row("labour", "Labour", "Of one person, such as 150 ft2/h, 12 ft/h or 10 min/each. Empty for none."),
    Row("min_recoat", "Least wait", "Until the next coat, such as 12 h."),
    Row("max_recoat", "Most wait", "Until it must be covered, such as 48 h; later it is abraded first."),
    Row("on", "Only on", f"Substrates, with commas: {', '.join(id for id, _ in SUBSTRATES)}. Empty: on all."),
    Row("day", "Usual day", "Counted from 1."),
    Row("note", "Note", "Printed with the step."),
    Row("into_wet", "Into the wet step before it", "It follows at once, within the pot life.", is_tick=True),
)
PRODUCT = (
    Row("name", "Name"),
    Row("code", "Product code", "What it is ordered by."),
    *(Row(f"pack{n}", f"Pack {n + 1}", "Name; size; price; colour packs. Such as 3 gal kit; 3 gal; 279; 3.")
      for n in range(forms.MOST_PACKS)),
    Row("colour_pack", "Colour pack", "Price of one. Empty: it takes no colour."),
    Row("volume_solids", "Volume solids", "What stays when it is dry, such as 55 %."),
    Row("density", "Density", "Mixed, such as 9.6 lb/gal or 1.15 kg/L."),
    Row("mix", "Mix", "By volume, as on the data sheet."),
    Row("pot_life", "Pot life", "Such as 35 min."),
    Row("left_in_tools", "Left in tools", "What stays in rollers, trays and pails for each coat in a room."),
    Row("least_temperature", "Lowest", "Air and surface that it may be laid at, such as 50 F or 10 C."),
    Row("most_temperature", "Highest", "Air and surface that it may be laid at."),
    Row("most_humidity", "Humidity", "The most that it may be laid at, such as 85 %."),
    Row("dew_margin", "Above dew point", "The least, such as 5 F or 3 K."),
    Row("lead_days", "Lead time", "Days from the order to the site. What you give is taken as the supplier's word."),
    Row("shelf_life_days", "Shelf life", "Days that it keeps on site."),
)
# fmt: on
_add = partial(pack_labelled, wide=LABEL)


class SystemForms(CatalogueDialog):
    """A system and its steps on the left, the product of the step on the right, and what the step takes below."""

    def __init__(self, host: Host) -> None:
        super().__init__(host, "Systems and products", 860, scrolls=True)
        self.units = self.session.display.system
        priced = host.priced
        self._lots = [] if priced is None else lots_of(self.session.job, priced.measured.faces, self.catalogue)
        used = next((lot.system for lot in self._lots), self.catalogue.systems[0].id)
        self.at, self.product_id = (used, ""), ""
        left, right = (self._column(n) for n in (0, 1))
        self.systems = self._choice(left, "System", self._take_system)
        self.system = Form(left, SYSTEM, self.refuse, commit=self._put_system, add=_add)
        self._buttons(left, ("Copy", self._copy_system, "A new system with the same steps."))
        self.steps = self._choice(left, "Step", self._take_step)
        self.step = Form(left, STEP, self.refuse, commit=self._put_step, add=_add)
        self._buttons(
            left,
            ("Earlier", lambda: self._move(-1), "Put the step before the one before it."),
            ("Later", lambda: self._move(1), "Put the step after the next one."),
            ("Copy", self._copy_step, "Add a step like this one after it."),
            ("Remove", self._remove_step, "Take the step out of the system."),
        )
        self.products = self._choice(right, "Product", self._take_product)
        self.product = Form(right, PRODUCT, self.refuse, commit=self._put_product, add=_add)
        self._buttons(right, ("Copy", self._copy_product, "A new product like this one."))
        self.arithmetic = label(self, wrap=820)
        self.arithmetic.pack(side="bottom", fill="x", padx=16, pady=(6, 0), after=self.said)
        self._take_system(used)

    # -- parts ---------------------------------------------------------------------------------------------------

    def _column(self, n: int) -> ctk.CTkFrame:
        frame = clear(self.body, width=410)
        frame.grid(row=0, column=n, sticky="new", padx=(0, 14))
        self.body.grid_columnconfigure(n, weight=1)
        return frame

    def _choice(self, parent: tkinter.Misc, name: str, take: Callable[[str], None]) -> ChoiceField:
        field = ChoiceField(parent, name, [], take)
        _add(field)
        return field

    def _buttons(self, parent: tkinter.Misc, *made: tuple[str, Callable[[], None], str]) -> None:
        row = clear(parent)
        row.pack(fill="x", pady=(2, 10))
        for name, run, hint in made:
            button(row, name, run, hint=hint, side="left", padx=(0, 6))

    # -- what is shown -------------------------------------------------------------------------------------------

    @property
    def _system(self) -> System:
        return self.catalogue.system(self.at[0])

    @property
    def _step(self) -> Step:
        return next(step for step in self._system.steps if step.id == self.at[1])

    def _take_system(self, id: str) -> None:
        steps = self.catalogue.system(id).steps
        first = next((step for step in steps if step.kind == "coat" and not step.on), steps[0])
        self.at = (id, first.id)
        self._take_step(first.id)

    def _take_step(self, id: str) -> None:
        self.at = (self.at[0], id)
        self.product_id = self._step.product or self.product_id or self.catalogue.products[0].id
        self.show()

    def _take_product(self, id: str) -> None:
        self.product_id = id
        self.show()

    def show(self) -> None:
        """Show the catalogue as it stands, and what the step takes."""
        for field, of, id in (
            (self.systems, self.catalogue.systems, self.at[0]),
            (self.steps, self._system.steps, self.at[1]),
            (self.products, self.catalogue.products, self.product_id),
        ):
            field.set_choices([(one.id, one.name) for one in of])
            field.show(id)
        self.step.choices("product", [("", "none"), *((one.id, one.name) for one in self.catalogue.products)])
        self.system.show(name=self._system.name, cure=f"{self._system.cure:g} h")
        texts = forms.step_texts(self._step, self.catalogue, self.units)
        self.step.show(**{row.key: texts.get(row.key, "") for row in STEP})
        texts = forms.product_texts(self.catalogue.product(self.product_id), self.units)
        self.product.show(**{row.key: texts.get(row.key, "") for row in PRODUCT})
        self.arithmetic.configure(text="\n".join(forms.step_words(self.catalogue, self.at, self._lots, self.units)))

    # -- edits ---------------------------------------------------------------------------------------------------

    def _keep(self, catalogue: Catalogue) -> None:
        self.catalogue = catalogue
        self._is_warned = False
        self.show()
        self.good(NOT_YET, is_well=False)

    def _put_system(self, key: str, text: str) -> None:
        changed = {key: forms.hours(text)} if key == "cure" else {key: text.strip()}
        self._keep(forms.with_steps(self.catalogue, self.at[0], self._system.steps, **changed))

    def _put_step(self, key: str, text: str) -> None:
        self._keep(forms.with_step(self.catalogue, self.at, {key: text}, self.units))

    def _put_product(self, key: str, text: str) -> None:
        self._keep(forms.with_product(self.catalogue, self.product_id, {key: text}, self.units))

    def _with_steps(self, steps: Sequence[Step], chosen: str) -> None:
        catalogue = forms.with_steps(self.catalogue, self.at[0], steps)
        self.at = (self.at[0], chosen)
        self._keep(catalogue)

    def _move(self, by: int) -> None:
        steps, step = list(self._system.steps), self._step
        at = steps.index(step)
        steps.insert(max(0, at + by), steps.pop(at))
        self._with_steps(steps, step.id)

    def _copy_step(self) -> None:
        steps, step = list(self._system.steps), self._step
        made = replace(step, id=free_id([s.id for s in steps], step.id, 2), name=f"{step.name}, again")
        steps.insert(steps.index(step) + 1, made)
        self._with_steps(steps, made.id)

    def _remove_step(self) -> None:
        steps = [step for step in self._system.steps if step.id != self.at[1]]
        if steps:
            self._with_steps(steps, steps[0].id)
        else:
            self.refuse("A system needs a step: this is its only one.")

    def _copy_system(self) -> None:
        id = free_id([s.id for s in self.catalogue.systems], self.at[0], 2)
        made = replace(self._system, id=id, name=f"{self._system.name}, copy")
        self.at = (id, self.at[1])
        self._keep(replace(self.catalogue, systems=(*self.catalogue.systems, made)))

    def _copy_product(self) -> None:
        before: Product = self.catalogue.product(self.product_id)
        self.product_id = free_id([p.id for p in self.catalogue.products], before.id, 2)
        made = replace(before, id=self.product_id, name=f"{before.name}, copy")
        self._keep(replace(self.catalogue, products=(*self.catalogue.products, made)))
