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
  put(cells.height, heightNet ? heightWords(hand.at) : "");
  put(cells.way, way ? way.distance + ", " + way.bearings : "");
  if (taking && taking.moved) { taking.moved(); }
  if (toolOpen !== "position") { return; }
  Object.keys(rows).forEach(function (name) { put(rows[name], all[name].join(" ")); });
  put(cells.fine, { Held: "The place that is held", Pointer: "Under the pointer", Middle: "The middle of the map" }[hand.words] +
    ", to about " + unitWords(Math.pow(10, power(fineness(hand.at)))) + ".");
  put(cells.ground, !heightNet ? "" : "Ground: " + heightWords(hand.at) + " (" + heights.source + ", every " + heights.step +
    " m" + (heights.strays === null ? "" : ", within " + heights.strays + " m of it in 95 of 100 places") + ").");
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
  container.addEventListener("pointerdown", startPress);
  ["pointerup", "pointercancel"].forEach(function (kind) { container.addEventListener(kind, endPress); });
  container.addEventListener("pointermove", function (event) {
    pointerKind = event.pointerType;
    if (press && Math.hypot(event.clientX - press.x, event.clientY - press.y) > 10) { endPress(); }
  });
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
  ["which", "latlon", "mgrs", "height", "way", "utm", "locator"].forEach(function (name) {
    cells[name] = make("span", name);
    list.append(cells[name]);
  });
  node.append(toolButton, list);
}
