// The chart for the pointer: on demand, in place of the drawing, which stays without this and on paper.

const say = globalThis.gettext ?? ((text) => text);
const SYMBOLS = { circle: "circle", square: "square", triangle: "triangle-up", diamond: "diamond", star: "star", cross: "cross" };
// The library would bring a style for maps, which are not used and which our content policy refuses;
// it takes an element of this name for that style.
const STYLE_FOR_MAPS = "9f215cf04c5486422605d13261cb87401f4e7763b6296af81e98efbc0130da53";

const token = (name) => getComputedStyle(document.documentElement).getPropertyValue(name).trim();

function sheer(hex, part) {
  const [r, g, b] = [1, 3, 5].map((at) => parseInt(hex.slice(at, at + 2), 16));
  return `rgba(${r}, ${g}, ${b}, ${part})`;
}

function load(src) {
  if (window.Plotly) return Promise.resolve();
  const place = document.createElement("meta");
  place.id = STYLE_FOR_MAPS;
  document.head.append(place);
  return new Promise((done, failed) => {
    const script = document.createElement("script");
    script.src = src;
    script.onload = done;
    script.onerror = failed;
    document.head.append(script);
  });
}

// Bars within one another: a wide hollow one for what was planned, a narrow full one for what was done.
function bars(data) {
  const ink = token("--ink");
  return data.bars.map(({ name, hollow, part, y }) => ({
    type: "bar",
    name,
    x: data.labels,
    y,
    width: hollow ? 0.8 : 0.4,
    hovertext: data.words,
    hoverinfo: "text",
    marker: { color: part.map((is) => token(is ? "--hatch" : hollow ? "--sheet" : "--ink")), line: { color: ink, width: 1 } },
  }));
}

function traces(data) {
  if (data.bars) return bars(data);
  const ink = token("--ink");
  const shown = (y) => (data.percent ? 100 * y : y);
  const groups = new Map();
  for (const point of data.points) {
    if (!groups.has(point.group)) groups.set(point.group, []);
    groups.get(point.group).push(point);
  }
  const marks = [...groups].map(([name, points]) => {
    const colour = points[0].tone ? token(`--${points[0].tone}`) : ink;
    return {
      type: "scatter",
      mode: "markers+text",
      name: `${name} (${points.length})`,
      x: points.map((p) => p.x),
      y: points.map((p) => shown(p.y)),
      text: points.map((p) => String(p.number)),
      textposition: "middle right",
      textfont: { size: 11, color: ink },
      hovertext: points.map((p) => p.words.replaceAll("<", "&lt;").replace(": ", "<br>").replace("; ", "<br>")),
      hoverinfo: "text",
      marker: {
        opacity: 1,
        size: points.map((p) => (p.target ? 17 : 11)),
        color: points.map((p) => (p.late ? token("--sheet") : colour)),
        line: { color: colour, width: 2 },
        symbol: points.map((p) => SYMBOLS[p.shape]),
      },
    };
  });
  if (!data.line.length) return marks;
  const line = {
    type: "scatter",
    mode: "lines",
    name: data.lineName,
    hoverinfo: "skip",
    line: { color: ink, width: 2 },
    x: data.line.map((p) => p[0]),
    y: data.line.map((p) => shown(p[1])),
  };
  if (!data.band.length) return [line, ...marks];
  const band = {
    type: "scatter",
    mode: "none",
    fill: "toself",
    fillcolor: sheer(ink, 0.12),
    hoverinfo: "skip",
    name: say("interval of the line"),
    x: [...data.band.map((b) => b[0]), ...data.band.map((b) => b[0]).reverse()],
    y: [...data.band.map((b) => shown(b[1])), ...data.band.map((b) => shown(b[2])).reverse()],
  };
  return [band, line, ...marks];
}

function layout(data) {
  const axis = { gridcolor: token("--line"), linecolor: token("--line-strong"), mirror: true, zeroline: false };
  const axes = data.bars
    ? [{ nticks: 14, automargin: true }, {}]
    : [{ dtick: 1, range: data.xRange }, { range: data.yRange.map((y) => (data.percent ? 100 * y : y)), ticksuffix: data.percent ? " %" : "" }];
  return {
    barmode: "overlay",
    xaxis: { ...axis, title: { text: data.x }, ...axes[0] },
    yaxis: { ...axis, title: { text: data.y }, ...axes[1] },
    height: 560,
    margin: { l: 64, r: 16, t: data.bars ? 40 : 8, b: 56 },
    paper_bgcolor: token("--sheet"),
    plot_bgcolor: token("--sheet"),
    font: { family: token("--font"), color: token("--ink"), size: 13 },
    legend: { orientation: "h", ...(data.bars ? { y: 1.02, yanchor: "bottom" } : { y: -0.2 }) },
    hoverlabel: { align: "left" },
  };
}

async function show(button) {
  const box = button.parentElement.querySelector("[data-chart-box]");
  const data = JSON.parse(document.getElementById("chart-data").textContent);
  button.disabled = true;
  button.textContent = say("Loading the chart …");
  try {
    await load(button.dataset.chart);
  } catch {
    button.textContent = say("The chart could not be loaded; the drawing stays");
    return;
  }
  const drawing = box.firstElementChild;
  const place = document.createElement("div");
  place.className = "live-chart no-print";
  box.append(place);
  drawing.classList.add("print-only");
  await Plotly.newPlot(place, traces(data), layout(data), { displayModeBar: false, responsive: true });
  button.remove();
}

// A chart may come later, as a piece of the page.
function offer() {
  for (const button of document.querySelectorAll("button[data-chart]")) button.hidden = false;
}

offer();
document.body.addEventListener("htmx:afterSettle", offer);
document.body.addEventListener("click", (event) => {
  const button = event.target.closest("button[data-chart]");
  if (button) show(button);
});
