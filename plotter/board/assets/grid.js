// The chosen grid on the map, worked out anew for each view, with figures along the map's edges.

var LEAST_NAME_PX = 40;
var GRIDS = { none: "No grid", utm: "UTM and MGRS", maidenhead: "Maidenhead", graticule: "Latitude and longitude" };
var gridChoice = "utm", gridShown = { key: null };

// The ground of the whole canvas.
Pen.prototype.ground = function () {
  var self = this;
  function lat(y) {
    return Math.atan(Math.sinh(Math.PI * (1 - (y + self.oy) / self.scale / 128))) / DEGREE;
  }
  function lon(x) { return ((x + self.ox) / self.scale / 256 - 0.5) * 360; }
  return [lat(Math.min(this.size.y, 256 * this.scale - this.oy)), lon(0), lat(Math.max(0, -this.oy)), lon(this.size.x)];
};

function drawGrid(pen, labels) {
  if (gridChoice === "none") { return; }
  var view = pen.ground(), key = gridChoice + view.join();
  if (gridShown.key !== key) {
    gridShown = gridOfView(gridChoice, view, pixelMetres((view[0] + view[2]) / 2));
    gridShown.key = key;
    gridShown.lines.forEach(function (line) { line.points = onPlane(line.places); });
    sayGrid(gridShown.words);
  }
  var dash = gridChoice === "maidenhead" ? [6, 4] : [];
  strokeLines(pen, gridShown.lines.filter(function (line) { return !line.bold; }), 0.6, dash);
  strokeLines(pen, gridShown.lines.filter(function (line) { return line.bold; }), 1.5, dash);
  pen.ctx.beginPath();
  gridShown.edges.forEach(function (edge) { pen.trace(onPlane(edge)); });
  pen.stroke(inks.grid, gridShown.spacing ? 1.75 : 0.75, gridShown.spacing ? [12, 5] : []);
  gridShown.lines.forEach(function (line) { edgeLabel(pen, line, labels); });
  gridShown.names.forEach(function (name) { squareName(pen, name, labels); });
}

function strokeLines(pen, lines, width, dash) {
  pen.ctx.beginPath();
  lines.forEach(function (line) { pen.trace(line.points); });
  pen.stroke(inks.grid, width, dash);
}

// Eastings along the top, northings at the left; else where the line begins at the edge of its zone.
function edgeLabel(pen, line, labels) {
  if (!line.label) { return; }
  var top = crossing(pen, line, false, pen.top + 12), left = crossing(pen, line, true, pen.left + 4);
  var at = line.easting ? top || left : left || top;
  if (!at && !line.easting) { at = [pen.x(line.points[0]), pen.y(line.points[1])]; }
  if (!at || at[0] > pen.right - 30) { return; }
  labels.push({
    text: line.label, x: at[0], y: at[1], order: 90, ink: inks["grid-text"], size: 15,
    places: [at === top ? [4, 0, "left"] : [2, -10, "left"]]
  });
}

// Where a line crosses the upright x = edge, or the level y = edge.
function crossing(pen, line, upright, edge) {
  var points = line.points;
  for (var i = 0; i + 3 < points.length; i += 2) {
    var x1 = pen.x(points[i]), y1 = pen.y(points[i + 1]), x2 = pen.x(points[i + 2]), y2 = pen.y(points[i + 3]);
    var from = upright ? x1 : y1, to = upright ? x2 : y2;
    if ((from - edge) * (to - edge) > 0 || from === to) { continue; }
    var share = (edge - from) / (to - from), x = x1 + share * (x2 - x1), y = y1 + share * (y2 - y1);
    if (x >= pen.left && x <= pen.right && y >= pen.top && y <= pen.bottom) { return [x, y]; }
  }
  return null;
}

// The name goes where there is room in that part of its square which is in view.
function squareName(pen, name, labels) {
  var spots = name.places.map(function (place) {
    var point = plane(place[0], place[1]);
    return [pen.x(point[0]), pen.y(point[1])];
  }).filter(function (spot) {
    return spot[0] > pen.left && spot[0] < pen.right && spot[1] > pen.top && spot[1] < pen.bottom;
  });
  if (!spots.length || (name.box && narrowBox(pen, name.box))) { return; }
  var x = spots[0][0], y = spots[0][1];
  labels.push({
    text: name.text, x: x, y: y, order: name.size > 17 ? 94 : 95, ink: inks["grid-text"], size: name.size, bold: true,
    places: spots.map(function (spot) { return [spot[0] - x, spot[1] - y, "center"]; })
  });
}

function narrowBox(pen, area) {
  var a = plane(area[0], area[1]), b = plane(area[2], area[3]);
  return (b[0] - a[0]) * pen.scale < LEAST_NAME_PX || (a[1] - b[1]) * pen.scale < 0.6 * LEAST_NAME_PX;
}

var gridWords;

function sayGrid(words) {
  if (gridWords) { put(gridWords, words + (gridChoice === "utm" && gridShown.spacing < SQUARE_M && gridShown.spacing ?
    " Large figures are those of the reference." : "")); }
}

function gridSection() {
  var node = section("grid", "Grid"), label = make("label", "field", "Shown on the map "), choice = make("select");
  Object.keys(GRIDS).forEach(function (name) {
    var option = make("option", "", GRIDS[name]);
    option.value = name;
    choice.append(option);
  });
  choice.value = gridChoice;
  choice.addEventListener("change", function () {
    gridChoice = choice.value;
    gridShown = { key: null };
    sayGrid("");
    redrawAll();
  });
  label.append(choice);
  gridWords = make("p", "quiet");
  node.append(label, gridWords);
}
