"use strict";
(() => {
  const stored = JSON.parse(document.getElementById("figure-data").textContent);
  const dark = window.matchMedia("(prefers-color-scheme: dark)");
  const finger = window.matchMedia("(pointer: coarse)");
  const narrow_px = 560;
  const printed_px = 660;
  const small_printed_px = 215; // three beside each other
  const letter_px = 6.4;
  const hidden = new Map();
  let printing = false;

  // Colours stand in the figures as those of light paper; each has one partner for dark paper.
  const white = { [stored.paper]: "#ffffff" };
  const coloured = (part, swap) =>
    JSON.parse(JSON.stringify(part), (_, value) =>
      typeof value === "string" && Object.hasOwn(swap, value) ? swap[value] : value);

  // Labels come worst first, so where they would touch, the worst ones stay.
  const spaced = (layout) => {
    const axis = layout.xaxis;
    const place = (note) => (note.x - axis.range[0]) / (axis.range[1] - axis.range[0]);
    const half_px = (note) => letter_px / 2 * Math.max(...note.text.split("<br>").map((row) => row.replace(/<[^>]*>/g, "").length));
    const touch = (one, other) => Math.abs(place(one) - place(other)) * layout.width < half_px(one) + half_px(other) + letter_px;
    const kept = [];
    for (const note of (layout.annotations || []).filter((one) => one.name === "peak")) {
      if (!kept.some((other) => touch(note, other))) kept.push(note);
      const edge = half_px(note) / layout.width;
      note.xanchor = place(note) < edge ? "left" : place(note) > 1 - edge ? "right" : "center";
    }
    layout.annotations = (layout.annotations || []).filter((one) => one.name !== "peak" || kept.includes(one));
    return layout;
  };

  const squeezed = (layout) => {
    const axis = layout.xaxis || {};
    layout.font.size = 11;
    for (const [most, leading] of [[6, /^[125]/], [8, /^[15]/]]) {
      if (!axis.tickvals || axis.tickvals.length <= most) continue;
      const round = axis.tickvals.map((at) => leading.test(at.toExponential()));
      axis.ticktext = axis.ticktext.filter((_, at) => round[at]);
      axis.tickvals = axis.tickvals.filter((_, at) => round[at]);
    }
    return layout;
  };

  const draw = (box) => {
    const drawing = stored.drawings[box.dataset.drawing];
    const swap = printing ? white : dark.matches ? stored.swap : {};
    const small = box.closest(".small") !== null;
    const width = printing ? (small ? small_printed_px : printed_px) : box.clientWidth;
    const layout = coloured(drawing.layout, swap);
    const data = coloured(drawing.data, swap);
    const away = [...hidden.get(box.dataset.drawing) || []].map((at) => data[at].legendgroup || data[at].name);
    for (const trace of data) if (away.includes(trace.legendgroup || trace.name)) trace.visible = false;
    layout.width = width;
    if (printing) { // two large figures on a page
      layout.height = Math.round(layout.height * (small ? 0.62 : 0.66));
      layout.font.size = 10;
    }
    box.style.height = `${layout.height}px`;
    layout.dragmode = drawing.zoomable && !finger.matches ? "zoom" : false;
    const config = {
      displaylogo: false,
      displayModeBar: !printing && drawing.zoomable && !finger.matches ? "hover" : false,
      modeBarButtons: [["zoom2d", "pan2d", "resetScale2d"], ["toImage"]],
    };
    if (width < narrow_px) squeezed(layout);
    Plotly.react(box, data, spaced(layout), config);
  };

  const boxes = [...document.querySelectorAll("[data-drawing]")];
  const drawAll = () => boxes.forEach(draw);
  const print = (begins) => {
    printing = begins;
    drawAll();
  };

  document.querySelectorAll(".key").forEach((key) =>
    key.addEventListener("click", () => {
      const shown = key.getAttribute("aria-pressed") !== "true";
      const traces = hidden.get(key.dataset.figure) || new Set();
      traces[shown ? "delete" : "add"](Number(key.dataset.trace));
      hidden.set(key.dataset.figure, traces);
      key.setAttribute("aria-pressed", String(shown));
      draw(boxes.find((box) => box.dataset.drawing === key.dataset.figure));
    }));

  let waiting = 0;
  let last_px = window.innerWidth;
  window.addEventListener("resize", () => {
    if (window.innerWidth === last_px) return;
    last_px = window.innerWidth;
    clearTimeout(waiting);
    waiting = setTimeout(drawAll, 150);
  });
  dark.addEventListener("change", drawAll);
  window.addEventListener("beforeprint", () => print(true));
  window.addEventListener("afterprint", () => print(false));
  drawAll();
})();
