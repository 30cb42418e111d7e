// Grid lines, the finest that leave room between them, with their figures along the map's edges.

var LEAST_GAP_PX = 44;

var grids = scene.grids.map(function (level) {
  return {
    system: level.system,
    spacing: level.spacing,
    lines: level.lines.map(function (line) {
      var points = path(line[2]);
      return { label: line[0], northing: line[1] === 1, points: points, bounds: box(points) };
    }),
    labels: level.labels.map(function (label) {
      return { text: label[0], area: box(path(label[1])) };
    })
  };
});

function gapPx(level) {
  var centre = map.getCenter();
  var span = level.system === "utm" ? level.spacing / 111320 : level.spacing;
  var a = map.latLngToLayerPoint(centre);
  var b = map.latLngToLayerPoint([centre.lat + (centre.lat > 0 ? -span : span), centre.lng]);
  return Math.abs(a.y - b.y);
}

function finest(system) {
  var chosen = null;
  grids.forEach(function (level) {
    if (level.system === system && gapPx(level) >= LEAST_GAP_PX) { chosen = level; }
  });
  return chosen;
}

function drawGrid(pen, system, labels) {
  var level = finest(system);
  grids.forEach(function (coarser) {
    if (coarser.system !== system || (level && coarser.spacing < level.spacing)) { return; }
    if (!level && coarser !== grids[0]) { return; }
    pen.ctx.beginPath();
    var seen = coarser.lines.filter(function (line) { return pen.sees(line.bounds); });
    seen.forEach(function (line) { pen.trace(line.points); });
    pen.stroke(inks.grid, coarser === level ? 0.5 : 1.5, system === "utm" ? [] : [6, 4]);
    if (coarser === level) {
      seen.forEach(function (line) { edgeLabel(pen, line, labels); });
    }
    if (coarser === level || system === "utm") {
      coarser.labels.forEach(function (label) {
        squareName(pen, label, labels);
      });
    }
  });
}

function edgeLabel(pen, line, labels) {
  if (!line.label) { return; }
  var points = line.points, edge = line.northing ? pen.left + 4 : pen.top + 12;
  for (var i = 0; i + 3 < points.length; i += 2) {
    var x1 = pen.x(points[i]), y1 = pen.y(points[i + 1]);
    var x2 = pen.x(points[i + 2]), y2 = pen.y(points[i + 3]);
    var from = line.northing ? x1 : y1, to = line.northing ? x2 : y2;
    if ((from - edge) * (to - edge) > 0 || from === to) { continue; }
    var share = (edge - from) / (to - from);
    var x = x1 + share * (x2 - x1), y = y1 + share * (y2 - y1);
    labels.push({
      text: line.label, x: x, y: y, order: 90, ink: inks["grid-text"], size: 13,
      places: [line.northing ? [2, -9, "left"] : [4, 0, "left"]]
    });
    return;
  }
}

// The name goes where there is room in that part of the square which is in view.
function squareName(pen, label, labels) {
  var left = Math.max(pen.x(label.area[0]), pen.left), right = Math.min(pen.x(label.area[2]), pen.right);
  var top = Math.max(pen.y(label.area[1]), pen.top), bottom = Math.min(pen.y(label.area[3]), pen.bottom);
  if (!label.text || right - left < 50 || bottom - top < 30) { return; }
  var places = [], across = (right - left) / 2, down = (bottom - top) / 2;
  [0, -0.3, 0.3, -0.6, 0.6].forEach(function (dy) {
    [0, -0.35, 0.35, -0.65, 0.65].forEach(function (dx) {
      places.push([dx * across, dy * down, "center"]);
    });
  });
  labels.push({
    text: label.text, x: (left + right) / 2, y: (top + bottom) / 2, order: 95,
    ink: inks["grid-text"], size: 17, bold: true, places: places
  });
}
