// What was said: squares, who is where, and lines of bearing.

var SQUARE_PX = 12;
// Beyond this many older ones in view they are dots, one on each spot a few pixels wide: shapes on top of
// each other could not be told apart.
var MOST_DRAWN = 1500, SPOT_PX = 5;

function visible(mark) {
  return isShown(mark.entry) && (mark.latest ? layers.positions.on : layers.older.on);
}

// The marks in view, newest first: the latest of each name, and older ones.
function marksInView(pen) {
  var found = { latest: [], older: [] };
  for (var entry = cut; entry < entries.length; entry += 1) {
    var i = markOf[entry];
    if (i < 0 || !(newest[i] ? layers.positions.on : layers.older.on)) { continue; }
    if (pen.holds(pen.x(markX[i]), pen.y(markY[i]), Math.max(20, markWide[i] * pen.scale))) {
      (newest[i] ? found.latest : found.older).push(i);
    }
  }
  found.few = found.latest.length + found.older.length <= MOST_DRAWN;
  found.dense = found.older.length > MOST_DRAWN;
  if (found.dense) { found.older = oneEachSpot(pen, found.older); }
  return found;
}

// The newest on each spot. Squares that reach into view from outside are all kept.
function oneEachSpot(pen, older) {
  var across = Math.ceil(pen.size.x / SPOT_PX), down = Math.ceil(pen.size.y / SPOT_PX);
  var taken = new Uint8Array(across * down);
  return older.filter(function (index) {
    var column = Math.floor(pen.x(markX[index]) / SPOT_PX), row = Math.floor(pen.y(markY[index]) / SPOT_PX);
    if (column < 0 || row < 0 || column >= across || row >= down) { return true; }
    var free = !taken[row * across + column];
    taken[row * across + column] = 1;
    return free;
  });
}

function drawSquares(pen, seen) {
  seen.older.concat(seen.latest).forEach(function (index) {
    if (markWide[index] * pen.scale <= SQUARE_PX) { return; }
    pen.ctx.beginPath();
    pen.trace(squareOf(index), true);
    if (newest[index]) { pen.fill(inks.report, 0.1); }
    pen.stroke(inks.report, newest[index] ? 2 : 0.9, columns.markFlags[index] & DOUBTFUL ? [6, 4] : []);
  });
}

function drawOthers(pen, labels) {
  latestMarks.forEach(function (mark) {
    mark.others.forEach(function (square) {
      var bounds = box(square);
      var x = pen.x((bounds[0] + bounds[2]) / 2), y = pen.y((bounds[1] + bounds[3]) / 2);
      if (!pen.holds(x, y, 40)) { return; }
      if (Math.min(bounds[2] - bounds[0], bounds[3] - bounds[1]) * pen.scale > SQUARE_PX) {
        pen.ctx.beginPath();
        pen.trace(square, true);
        pen.stroke(inks.report, 1.5, [6, 4]);
      } else {
        ringWithDot(pen, x, y, inks.report, [3, 3]);
      }
      labels.push({
        text: isolate(shortened(mark.name, 24)) + " or here?", x: x, y: y, order: 20,
        ink: inks.report, size: 15, places: around(9)
      });
    });
  });
}

function drawMarks(pen, labels, seen) {
  var now = asAt();
  if (!seen.dense) { drawOlder(pen, seen.older); }
  drawDots(pen, seen.older, seen.dense ? 0.6 : 1);
  sayDense(seen.dense);
  seen.latest.forEach(function (index) {
    var x = pen.x(markX[index]), y = pen.y(markY[index]), mark = marks[index];
    DRAW[mark.role](pen, x, y);
    labels.push(nameLabel(mark, x, y, seen.few, now));
  });
}

var ORDER = { t: 5, s: 10, p: 15 };

function nameLabel(mark, x, y, few, now) {
  var old = few && now !== null && mark.entry.time !== null && mark.role !== "p" && now - mark.entry.time >= 1800;
  return {
    text: isolate(shortened(mark.name, 24)) + (mark.doubtful ? " ?" : ""),
    more: old ? ageWords(mark.entry.time, now) : "",
    x: x, y: y, order: ORDER[mark.role], size: 15, bold: mark.role === "t",
    ink: mark.role === "t" ? inks.report : inks.place, places: around(mark.role === "p" ? 10 : 16)
  };
}

function drawWedges(pen) {
  bearings.forEach(function (bearing) {
    if (!isShown(bearing.entry)) { return; }
    pen.ctx.beginPath();
    pen.trace(bearing.wedge, true);
    pen.fill(inks.bearing, 0.1);
  });
}

function drawBearings(pen, labels) {
  bearings.forEach(function (bearing) {
    if (!isShown(bearing.entry)) { return; }
    var line = bearing.line, ctx = pen.ctx;
    ctx.beginPath();
    pen.traceSeen(line);
    pen.stroke(inks.bearing, 2, bearing.doubtful ? [9, 6] : []);
    disc(ctx, pen.x(line[0]), pen.y(line[1]), 3);
    pen.fill(inks.bearing);
    var third = 2 * Math.floor(line.length / 6);
    var x = pen.x(line[third]), y = pen.y(line[third + 1]);
    var angle = Math.atan2(pen.y(line[third + 3]) - y, pen.x(line[third + 2]) - x);
    arrow(pen, x, y, angle, inks.bearing);
    labels.push({
      text: isolate(shortened(bearing.label, 44)), x: x, y: y, order: 30, size: 15,
      ink: inks["bearing-text"], places: around(12)
    });
  });
}

function drawChosen(pen) {
  if (chosen === null || chosen < cut || !entries[chosen].place) { return; }
  var place = entries[chosen].place, point = plane(place[0] / 1e6, place[1] / 1e6);
  var x = pen.x(point[0]), y = pen.y(point[1]);
  drawChosenLines(pen);
  disc(pen.ctx, x, y, 22);
  pen.stroke(inks.halo, 6);
  pen.stroke(inks.chosen, 3);
}
