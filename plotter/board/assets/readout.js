// The place under the pointer, held by a long press, or at the middle of the map: in every format, as
// finely as a pixel is wide, with the way to it from a chosen station.

var pointer = null, held = null, from = null;
var toolButton, cells = {}, rows = {};
var waiting = false, pointerKind = "mouse";

function mapMiddle() {
  var middle = map.getCenter();
  return [middle.lat, middle.lng];
}

function placeInHand() {
  if (held) { return { at: held, words: "Held" }; }
  return pointer ? { at: pointer, words: "Pointer" } : { at: mapMiddle(), words: "Middle" };
}

function pixelMetres(lat) {
  return 2 * Math.PI * EARTH.a / 256 * Math.cos(lat * DEGREE) / Math.pow(2, map.getZoom());
}

// How finely a place [latitude, longitude, metres] is known: as its own metres say, else to a pixel.
function fineness(place) {
  return place[2] || pixelMetres(place[0]);
}

// The power of ten that is nearest to so many metres: what the last figure stands for.
function power(metres) {
  return Math.max(Math.round(Math.log10(metres)), -2);
}

function unitWords(metres) {
  return metres < 1 ? Math.round(metres * 100) + " cm" : metres < 1000 ? metres + " m" : metres / 1000 + " km";
}

function angleWords(value, letters, style, decimals) {
  var parts = { dd: 1, dm: 60, dms: 3600 }[style], scale = Math.pow(10, decimals);
  // One rounding of the whole angle, so that no part ever reads 60.
  var units = Math.round(Math.abs(value) * parts * scale), letter = letters[value < 0 && units ? 1 : 0];
  var last = Math.floor(units / scale), tail = decimals ? "." + String(units % scale).padStart(decimals, "0") : "";
  if (style === "dd") { return last + tail + "° " + letter; }
  if (style === "dm") { return Math.floor(last / 60) + "° " + two(last % 60) + tail + "′ " + letter; }
  return Math.floor(last / 3600) + "° " + two(Math.floor(last / 60) % 60) + "′ " + two(last % 60) + tail + "″ " + letter;
}

function latlonWords(place, style, decimals) {
  return angleWords(place[0], "NS", style, decimals) + ", " + angleWords(halfTurn(place[1]), "EW", style, decimals);
}

// UTM or UPS, truncated; the word north follows the letter S, which could be taken for south.
function utmWords(place, unit) {
  var grid = gridOf(place[0], place[1]), name;
  function cut(metres, width) {
    return String(Math.floor((metres + figures.utm.nudge) / unit) * unit).padStart(width, "0");
  }
  if (grid.zone === 0) {
    name = (grid.south ? "AB" : "YZ")[grid.easting + figures.utm.nudge >= 2e6 ? 1 : 0];
    return [name, cut(grid.easting, 7), cut(grid.northing, 7)];
  }
  // A hair south of the equator is still south of it.
  var northing = grid.south ? Math.min(grid.northing, figures.utm.southFalseNorthing - unit / 2) : grid.northing;
  name = bandOf(place[0]);
  return [two(grid.zone) + name + (name === "S" ? " north" : ""), cut(grid.easting, 6), cut(northing, 7)];
}

function locatorWords(place, metres) {
  var heights = [1e99, 111000, 4630, 463, 19.3], level = 4;
  while (level > 0 && heights[level] < metres) { level -= 1; }
  return maidenheadOf(place[0], place[1], 2 * level + 2);
}

// Every format of a place, each as spoken groups; joined, and with a space where one is needed, they are
// what is copied.
function formatsOf(place) {
  var p = power(fineness(place)), d = Math.max(5 - p, 0), a = Math.min(Math.max(5 - p, 0), 5);
  var mgrs = mgrsOf(place[0], place[1], a), head = mgrs.slice(0, mgrs.length - 2 * a);
  return {
    latlon: [latlonWords(place, "dd", Math.min(d, 7))],
    minutes: [latlonWords(place, "dm", Math.min(Math.max(3 - p, 0), 5))],
    seconds: [latlonWords(place, "dms", Math.min(Math.max(1 - p, 0), 3))],
    mgrs: [head.slice(0, -2), head.slice(-2)].concat(a ? [mgrs.slice(-2 * a, -a), mgrs.slice(-a)] : []),
    utm: utmWords(place, Math.pow(10, Math.max(p, 0))),
    locator: [locatorWords(place, fineness(place))]
  };
}

function distanceWords(metres, unit) {
  if (metres < 1000) { return (Math.round(metres / Math.max(unit, 1)) * Math.max(unit, 1)) + " m"; }
  var decimals = Math.min(Math.max(3 - Math.round(Math.log10(unit)), 0), 3);
  return (metres / 1000).toFixed(decimals) + " km";
}

// Distance and bearings from one place to another, no finer than the coarser place lets them be told.
function wayOf(a, b) {
  var way = geodesicBetween(a[0], a[1], b[0], b[1]), fine = Math.max(fineness(a), fineness(b));
  var decimals = way.metres > 600 * fine ? 1 : 0;
  function bearing(degrees) {
    var scale = Math.pow(10, decimals), turn = Math.round(degrees * scale) / scale;
    return ((turn % 360 + 360) % 360).toFixed(decimals).padStart(decimals ? 5 : 3, "0") + "°";
  }
  return {
    metres: way.metres,
    fine: fine,
    distance: distanceWords(way.metres, Math.pow(10, power(fine))),
    bearings: way.metres === 0 ? "" : bearing(way.bearing) + " true, " +
      bearing(way.bearing - declinationOf(a[0], a[1])) + " magnetic, " +
      bearing(way.bearing - convergenceOf(a[0], a[1])) + " grid"
  };
}

function put(node, text) {
  if (node.textContent !== text) { node.textContent = text; }
}

function showPlace() {
  waiting = false;
  var hand = placeInHand(), all = formatsOf(hand.at), way = from && wayOf(from, hand.at);
  put(cells.which, hand.words);
  put(cells.latlon, all.latlon[0]);
  put(cells.mgrs, all.mgrs.join(" "));
  put(cells.utm, all.utm.join(" "));
  put(cells.locator, all.locator[0]);
  put(cells.way, way ? way.distance + ", " + way.bearings : "");
  if (taking && taking.moved) { taking.moved(); }
  if (toolOpen !== "position") { return; }
  Object.keys(rows).forEach(function (name) { put(rows[name], all[name].join(" ")); });
  put(cells.fine, { Held: "The place that is held", Pointer: "Under the pointer", Middle: "The middle of the map" }[hand.words] +
    ", to about " + unitWords(Math.pow(10, power(fineness(hand.at)))) + ".");
  put(cells.told, way ? way.distance : "");
  put(cells.toldWay, way ? way.bearings : "");
  cells.letGo.disabled = !held;
}

function placeMoved() {
  if (!waiting) {
    waiting = true;
    requestAnimationFrame(showPlace);
  }
}

function pointAtCentre() {
  pointer = null;
  placeMoved();
  redrawTools();
}

function hold(place) {
  held = place && [place[0], place[1], fineness(place)];
  showPlace();
  redrawTools();
}

function letGo() { hold(null); }

function startPlace() {
  var container = map.getContainer();
  container.addEventListener("pointerdown", function (event) { pointerKind = event.pointerType; });
  container.addEventListener("pointermove", function (event) { pointerKind = event.pointerType; });
  map.on("mousemove", function (event) {
    if (pointerKind === "touch") { return; }
    var before = pointer;
    pointer = [event.latlng.lat, event.latlng.lng];
    placeMoved();
    if (!before) { redrawTools(); }
  });
  map.on("mouseout", pointAtCentre);
  map.on("move", placeMoved);
  map.on("contextmenu", function (event) { hold([event.latlng.lat, event.latlng.lng]); });
  container.addEventListener("focus", redrawTools);
  container.addEventListener("blur", redrawTools);
  showPlace();
}

// A cross at the middle while it is what counts, a ring about what is held.
function drawPlaceInHand(pen) {
  var x = (pen.left + pen.right) / 2, y = (pen.top + pen.bottom) / 2;
  if (held) {
    var point = plane(held[0], held[1]);
    disc(pen.ctx, pen.x(point[0]), pen.y(point[1]), 9);
    pen.stroke(inks.halo, 5);
    pen.stroke(inks.computed, 2, [4, 3]);
    x = pen.x(point[0]);
    y = pen.y(point[1]);
  } else if (pointer || (!toolOpen && document.activeElement !== map.getContainer())) {
    return;
  }
  pen.ctx.beginPath();
  [[1, 0], [-1, 0], [0, 1], [0, -1]].forEach(function (way) {
    pen.ctx.moveTo(x + 3 * way[0], y + 3 * way[1]);
    pen.ctx.lineTo(x + 9 * way[0], y + 9 * way[1]);
  });
  pen.stroke(inks.halo, 5);
  pen.stroke(inks.computed, 2);
}

function readoutStrip() {
  var node = document.getElementById("readout"), list = make("div", "cells");
  toolButton = button("Tools", "", function () { openTool(toolOpen ? null : lastTool); });
  toolButton.setAttribute("aria-expanded", "false");
  toolButton.setAttribute("aria-controls", "tools");
  ["which", "latlon", "mgrs", "way", "utm", "locator"].forEach(function (name) {
    cells[name] = make("span", name);
    list.append(cells[name]);
  });
  node.append(toolButton, list);
}

function copyRow(name, words) {
  var value = make("dd");
  rows[name] = make("span", "reference");
  var copy = button("Copy", "small", function () { 
    copyText(formatsOf(placeInHand().at)[name].join(name === "mgrs" ? "" : " "), rows[name]);
    copy.textContent = "Copied";
  });
  copy.setAttribute("aria-label", "Copy this place in " + words);
  value.append(rows[name], copy);
  return [make("dt", "", words), value];
}

// A reported place is known as finely as its square is wide.
function placeOf(mark) {
  var lat = mark.entry.place[0] / 1e6;
  return [lat, mark.entry.place[1] / 1e6, mark.wide / 256 * 2 * Math.PI * EARTH.a * Math.cos(lat * DEGREE)];
}

function stationSelect(chosen) {
  var label = make("label", "field", "Distance and bearing from "), select = make("select");
  var found = marks.filter(function (mark) { return mark.latest; });
  select.append(new Option("nobody", ""));
  [["s", "Stations"], ["p", "Places"], ["t", "Subjects"]].forEach(function (role) {
    var group = make("optgroup");
    group.label = role[1];
    found.forEach(function (mark, index) {
      if (mark.role === role[0]) { group.append(new Option(shortened(mark.name, 40), String(index))); }
    });
    if (group.children.length) { select.append(group); }
  });
  select.addEventListener("change", function () {
    chosen(select.value ? placeOf(found[Number(select.value)]) : null);
  });
  label.append(select);
  return label;
}

function positionTool() {
  var body = toolBody("position", "Position", {}), list = make("dl", "formats");
  [
    ["latlon", "Degrees"], ["minutes", "Degrees, minutes"], ["seconds", "Degrees, minutes, seconds"],
    ["mgrs", "MGRS"], ["utm", "UTM"], ["locator", "Maidenhead"]
  ].forEach(function (pair) { list.append.apply(list, copyRow(pair[0], pair[1])); });
  cells.fine = make("p", "quiet");
  cells.told = make("span", "far");
  cells.toldWay = make("span");
  cells.letGo = button("Let go", "", letGo);
  var hands = make("div", "choices"), told = make("p", "told");
  hands.append(button("Hold this place", "", function () { hold(placeInHand().at); }), cells.letGo);
  told.append(cells.told, " ", cells.toldWay);
  body.append(cells.fine, list, stationSelect(function (place) {
    from = place;
    document.getElementById("readout").classList.toggle("from", place !== null);
    showPlace();
  }), told, hands, make("p", "quiet", "A long press or a right click on the map holds that place. The arrow keys move the map; then its middle counts."));
}
