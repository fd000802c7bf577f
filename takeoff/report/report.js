"use strict";
(() => {
  document.documentElement.classList.add("live");
  const told = document.getElementById("told");
  const box = (text) => text.split(" ").map(Number);

  // views of plans: one function sets what is seen, everything else asks for a box
  const show = (plan, [x, y, width, height]) => {
    const whole = box(plan.dataset.whole);
    const most = Math.max(whole[2], whole[3]);
    const scale = Math.min(Math.max(width, most / 80), whole[2]) / width;
    const [w, h] = [width * scale, height * scale];
    const within = (at, size, from, all) => Math.min(Math.max(at, from - size / 2), from + all - size / 2);
    const left = within(x + (width - w) / 2, w, whole[0], whole[2]);
    const top = within(y + (height - h) / 2, h, whole[1], whole[3]);
    plan.setAttribute("viewBox", [left, top, w, h].join(" "));
    plan.classList.toggle("zoomed", w < whole[2] * 0.999);
  };
  const all = (plan) => {
    plan.setAttribute("viewBox", plan.dataset.whole);
    plan.classList.remove("zoomed");
  };
  const seen = (plan) => box(plan.getAttribute("viewBox"));
  const at = (plan, event) => {
    const point = new DOMPoint(event.clientX, event.clientY).matrixTransform(plan.getScreenCTM().inverse());
    return [point.x, point.y];
  };
  const zoom = (plan, factor, about) => {
    const [x, y, w, h] = seen(plan);
    const [cx, cy] = about || [x + w / 2, y + h / 2];
    show(plan, [cx - (cx - x) * factor, cy - (cy - y) * factor, w * factor, h * factor]);
  };
  const move = (plan, dx, dy) => {
    const [x, y, w, h] = seen(plan);
    show(plan, [x + dx, y + dy, w, h]);
  };

  for (const plan of document.querySelectorAll(".plan")) {
    const section = plan.closest("section");
    for (const button of section.querySelectorAll("[data-view]")) {
      button.addEventListener("click", () => {
        if (button.dataset.view === "all") all(plan);
        else zoom(plan, button.dataset.view === "in" ? 0.7 : 1 / 0.7);
      });
    }
    for (const input of section.querySelectorAll("[data-shows]")) {
      input.addEventListener("change", () => {
        for (const part of plan.querySelectorAll('[data-layer="' + input.dataset.shows + '"]')) {
          part.classList.toggle("off", !input.checked);
        }
      });
    }
    plan.addEventListener("wheel", (event) => {
      if (!event.ctrlKey && !event.metaKey) return;
      event.preventDefault();
      zoom(plan, Math.exp(Math.max(-0.5, Math.min(0.5, event.deltaY / 300))), at(plan, event));
    }, { passive: false });
    plan.addEventListener("keydown", (event) => {
      if (event.target !== plan || event.ctrlKey || event.altKey || event.metaKey) return;
      const [, , w, h] = seen(plan);
      const moves = { ArrowLeft: [-w / 8, 0], ArrowRight: [w / 8, 0], ArrowUp: [0, -h / 8], ArrowDown: [0, h / 8] };
      if (event.key in moves) move(plan, ...moves[event.key]);
      else if (event.key === "+" || event.key === "=") zoom(plan, 0.7);
      else if (event.key === "-") zoom(plan, 1 / 0.7);
      else if (event.key === "0") all(plan);
      else return;
      event.preventDefault();
    });
    const held = new Map();
    let dragged = 0;
    plan.addEventListener("dragstart", (event) => event.preventDefault());
    plan.addEventListener("pointerdown", (event) => {
      if (held.size === 0) dragged = 0;
      held.set(event.pointerId, event);
    });
    plan.addEventListener("pointermove", (event) => {
      const before = held.get(event.pointerId);
      if (!before) return;
      held.set(event.pointerId, event);
      if (held.size === 1) {
        const [x0, y0] = at(plan, before);
        const [x1, y1] = at(plan, event);
        dragged += Math.hypot(event.clientX - before.clientX, event.clientY - before.clientY);
        if (plan.classList.contains("zoomed")) move(plan, x0 - x1, y0 - y1);
        if (dragged > 5 && plan.classList.contains("zoomed")) plan.setPointerCapture(event.pointerId);
      } else if (held.size === 2) {
        const other = [...held.values()].find((e) => e.pointerId !== event.pointerId);
        const far = (e) => Math.hypot(e.clientX - other.clientX, e.clientY - other.clientY) || 1;
        dragged = 99;
        zoom(plan, far(before) / far(event), at(plan, other));
      }
    });
    for (const kind of ["pointerup", "pointercancel", "pointerleave"]) {
      plan.addEventListener(kind, (event) => held.delete(event.pointerId));
    }
    plan.addEventListener("click", (event) => {
      if (dragged > 5) event.preventDefault();
      dragged = 0;
    }, true);
  }

  // from a figure to its places
  document.addEventListener("click", (event) => {
    const link = event.target.closest("a[data-marks]");
    if (!link) return;
    const marks = link.dataset.marks.split(" ").map((n) => document.getElementById("mark-" + n)).filter(Boolean);
    if (marks.length === 0) return;
    document.querySelectorAll(".mark.lit").forEach((mark) => mark.classList.remove("lit"));
    marks.forEach((mark) => mark.classList.add("lit"));
    const plan = marks[0].closest(".plan");
    const boxes = marks.filter((mark) => mark.closest(".plan") === plan).map((mark) => mark.getBBox());
    const x = Math.min(...boxes.map((b) => b.x));
    const y = Math.min(...boxes.map((b) => b.y));
    const right = Math.max(...boxes.map((b) => b.x + b.width));
    const foot = Math.max(...boxes.map((b) => b.y + b.height));
    const [, , wholeW, wholeH] = box(plan.dataset.whole);
    const size = Math.min(1, Math.max((right - x) / wholeW, (foot - y) / wholeH, 0.15) * 1.4);
    const [w, h] = [wholeW * size, wholeH * size];
    show(plan, [(x + right - w) / 2, (y + foot - h) / 2, w, h]);
    event.preventDefault();
    history.pushState(null, "", "#" + marks[0].id);
    plan.closest("section").scrollIntoView();
    marks[0].focus({ preventScroll: true });
    told.textContent = marks.length === 1 ? "Shown on the plan" : marks.length + " walls shown on the plan";
  });

  // tables that sort: numbers by value, texts by locale, the order of the report again at the third press
  for (const table of document.querySelectorAll("table")) {
    const body = table.tBodies[0];
    const original = [...body.rows];
    for (const button of table.querySelectorAll("[data-sort]")) {
      button.addEventListener("click", () => {
        const head = button.closest("th");
        const column = Number(button.dataset.sort);
        const next = { ascending: "descending", descending: "none" }[head.getAttribute("aria-sort")] || "ascending";
        table.querySelectorAll("thead th").forEach((th) => th.removeAttribute("aria-sort"));
        const rows = [...original];
        if (next !== "none") {
          head.setAttribute("aria-sort", next);
          const sign = next === "ascending" ? 1 : -1;
          const isNumber = head.classList.contains("number");
          const value = (row) => row.cells[column].dataset.value;
          rows.sort((a, b) => sign * (isNumber ? Number(value(a)) - Number(value(b))
            : value(a).localeCompare(value(b), undefined, { numeric: true })));
        }
        body.append(...rows);
        told.textContent = next === "none" ? "In the order of the report"
          : "Sorted by " + button.textContent + ", " + next;
      });
    }
  }

  window.addEventListener("beforeprint", () => document.querySelectorAll(".plan").forEach(all));
})();
