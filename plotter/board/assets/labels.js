// Labels: the important ones first, each where it covers nothing; what finds no room is left out.

var FONT = "system-ui, -apple-system, 'Segoe UI', Roboto, 'Noto Sans', 'DejaVu Sans', sans-serif";
var MOST_TRIED = 500;

// A name may be written from right to left; it must not turn the rest of its label round.
function isolate(text) {
  return "\u2068" + text + "\u2069";
}

function around(gap) {
  return [
    [gap, 0, "left"], [-gap, 0, "right"], [0, -gap - 8, "center"], [0, gap + 8, "center"],
    [gap * 0.8, -gap - 4, "left"], [gap * 0.8, gap + 4, "left"],
    [-gap * 0.8, -gap - 4, "right"], [-gap * 0.8, gap + 4, "right"]
  ];
}

function overlaps(a, b) {
  return a[0] < b[2] && b[0] < a[2] && a[1] < b[3] && b[1] < a[3];
}

function drawLabels(pen, labels, taken) {
  var ctx = pen.ctx;
  ctx.direction = "ltr";
  ctx.textBaseline = "middle";
  ctx.lineJoin = "round";
  labels
    .filter(function (label) { return inView(pen, label); })
    .sort(function (a, b) { return a.order - b.order; })
    // The figures of the grid come last, and are few: names in hundreds must not push them off.
    .filter(function (label, i) { return i < MOST_TRIED || label.order >= 90; })
    .forEach(function (label) { placeLabel(pen, label, taken); });
}

function inView(pen, label) {
  return label.x >= pen.left && label.x <= pen.right && label.y >= pen.top && label.y <= pen.bottom;
}

function placeLabel(pen, label, taken) {
  var ctx = pen.ctx, size = label.size * textScale, high = size + 3;
  var text = label.more ? label.text + ", " + label.more : label.text;
  var font = (label.bold ? "600 " : "") + size + "px " + FONT;
  if (font !== pen.font) { ctx.font = pen.font = font; }
  var wide = ctx.measureText(text).width + 4;
  for (var i = 0; i < label.places.length; i++) {
    var place = label.places[i], x = label.x + place[0], y = label.y + place[1];
    var left = place[2] === "left" ? x : place[2] === "right" ? x - wide : x - wide / 2;
    var area = [left, y - high / 2, left + wide, y + high / 2];
    if (area[0] < pen.left || area[1] < pen.top || area[2] > pen.right || area[3] > pen.bottom) {
      continue;
    }
    if (taken.some(function (other) { return overlaps(area, other); })) { continue; }
    taken.push(area);
    ctx.textAlign = "left";
    ctx.strokeStyle = inks.halo;
    ctx.lineWidth = 6;
    ctx.strokeText(text, left + 2, y);
    ctx.fillStyle = label.ink;
    ctx.fillText(text, left + 2, y);
    return;
  }
}

// Where shapes stand, no label goes; controls in the corners count as shapes.
function shapesInView(pen) {
  var found = [];
  answers.forEach(function (answer) {
    found.push(about(pen.x(answer.x), pen.y(answer.y), 15));
  });
  if (layers.listening.on) {
    proposals.forEach(function (each) { found.push(about(pen.x(each.x), pen.y(each.y), 16)); });
  }
  if (layers.watches.on) {
    watches.forEach(function (each) {
      found.push(about(pen.x(each.x) + each.dx, pen.y(each.y) + each.dy, 8));
    });
  }
  for (var i = 0; layers.positions.on && i < latestMarks.length && found.length < MOST_TRIED; i++) {
    var x = pen.x(latestMarks[i].x), y = pen.y(latestMarks[i].y);
    if (pen.holds(x, y, 0)) { found.push(about(x, y, 9)); }
  }
  document.querySelectorAll(".leaflet-control").forEach(function (control) {
    var frame = map.getContainer().getBoundingClientRect(), r = control.getBoundingClientRect();
    found.push([
      r.left - frame.left + pen.left, r.top - frame.top + pen.top,
      r.right - frame.left + pen.left, r.bottom - frame.top + pen.top
    ]);
  });
  return found;
}

function about(x, y, r) {
  return [x - r, y - r, x + r, y + r];
}
