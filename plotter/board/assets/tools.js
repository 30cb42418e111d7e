// The tools: folded away until opened, one at a time. A tool may take what is pressed on the map: a click or
// a tap, and on the keyboard Enter for the map's middle, Backspace to take back, Escape to end.

var toolBox = document.getElementById("tools");
// Each has its words, and may have `open` and `close`.
var tools = {};
var toolOpen = null, lastTool = "position";
// What takes the map's clicks at present: { add, back, end }, or null.
var taking = null;
var toolSheet;

function toolBody(name, words, tool) {
  var body = make("div", "tool");
  body.id = "tool-" + name;
  body.hidden = true;
  body.setAttribute("role", "group");
  body.setAttribute("aria-label", words);
  tools[name] = Object.assign({ words: words, body: body }, tool);
  return body;
}

function toolsSection() {
  var names = Object.keys(tools), bar = make("div", "choices");
  names.forEach(function (name) {
    var choice = button(tools[name].words, "", function () { openTool(toolOpen === name ? null : name); });
    choice.setAttribute("aria-expanded", "false");
    choice.setAttribute("aria-controls", "tool-" + name);
    tools[name].choice = choice;
    bar.append(choice);
  });
  toolBox.append(bar);
  names.forEach(function (name) { toolBox.append(tools[name].body); });
  toolBox.addEventListener("keydown", function (event) {
    if (event.key === "Escape") { openTool(null); }
  });
}

function openTool(name) {
  var before = toolOpen;
  toolOpen = name;
  take(null);
  if (before && tools[before].close) { tools[before].close(); }
  Object.keys(tools).forEach(function (each) {
    tools[each].body.hidden = each !== name;
    tools[each].choice.setAttribute("aria-expanded", String(each === name));
  });
  toolBox.hidden = name === null;
  document.body.classList.toggle("tooling", name !== null);
  toolButton.setAttribute("aria-expanded", String(name !== null));
  if (name === null) {
    toolButton.focus();
  } else {
    lastTool = name;
    // Where the reports are a drawer, the two would leave no room for the map.
    closeDrawer();
    if (tools[name].open) { tools[name].open(); }
  }
  showPlace();
  redrawTools();
}

function closeDrawer() {
  var handle = panel.querySelector(".handle");
  panel.classList.remove("open");
  handle.setAttribute("aria-expanded", "false");
}

function take(what) {
  taking = what;
  map.doubleClickZoom[what ? "disable" : "enable"]();
  map.getContainer().classList.toggle("taking", what !== null);
}

// Whether a tool took it.
function takeClick(place) {
  if (!taking) { return false; }
  taking.add(place);
  return true;
}

function takeKey(event) {
  if (event.target !== map.getContainer()) { return; }
  if (/^Arrow/.test(event.key)) { pointAtCentre(); }
  if (event.key === "Escape" && !taking) { letGo(); }
  if (!taking || ["Enter", "Backspace", "Escape"].indexOf(event.key) < 0) { return; }
  event.preventDefault();
  if (event.key === "Enter") { taking.add(mapMiddle()); }
  if (event.key === "Backspace") { taking.back(); }
  if (event.key === "Escape") { taking.end(); }
}

function redrawTools() {
  if (toolSheet) { toolSheet.redraw(); }
}

function drawTools(pen) {
  var labels = [];
  drawDrawings(pen, labels);
  if (toolOpen === "find") { drawFound(pen, labels); }
  if (toolOpen === "measure") { drawMeasure(pen, labels); }
  drawPlaceInHand(pen);
  drawLabels(pen, labels, []);
}

function startTools() {
  map.createPane("tools").style.zIndex = 460;
  map.getPane("tools").style.pointerEvents = "none";
  toolSheet = new Sheet("tools", drawTools).addTo(map);
  map.getContainer().addEventListener("keydown", takeKey);
  startPlace();
}

function onPlane(places) {
  var found = new Float64Array(2 * places.length);
  places.forEach(function (place, i) { found.set(plane(place[0], place[1]), 2 * i); });
  return found;
}

function drawPath(pen, places, ink, close) {
  pen.ctx.beginPath();
  pen.trace(onPlane(alongPath(places, close)), false);
  pen.stroke(inks.halo, 6);
  pen.stroke(ink, 2.5);
}

function drawKnots(pen, places, ink) {
  places.forEach(function (place) {
    var point = plane(place[0], place[1]);
    disc(pen.ctx, pen.x(point[0]), pen.y(point[1]), 4.5);
    pen.fill(inks.paper);
    pen.stroke(ink, 2);
  });
}
