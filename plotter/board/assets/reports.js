// What was said: squares, who is where, where they were before, and lines of bearing.

var SQUARE_PX = 12;
// Beyond this many marks in view, labels for older positions would only be noise.
var MOST_LABELLED = 1500;
var MOST_LABELLED_TRACKS = 200;

function drawTracks(pen, labels) {
  pen.ctx.beginPath();
  tracks.forEach(function (track) { pen.trace(track.line); });
  // Dots cost far more than a line when there are thousands.
  pen.stroke(inks.report, 1.25, tracks.length > MOST_LABELLED_TRACKS ? [] : [2, 5]);
  if (tracks.length > MOST_LABELLED_TRACKS) { return; }
  tracks.forEach(function (track) {
    for (var i = 0; i + 2 < track.line.length; i += 2) {
      if (!track.ages[i / 2]) { continue; }
      labels.push({
        text: track.ages[i / 2], x: pen.x(track.line[i]), y: pen.y(track.line[i + 1]), order: 60,
        ink: inks.report, size: 15, places: around(9)
      });
    }
  });
}

function drawSquares(pen) {
  marks.forEach(function (mark) {
    var x = pen.x(mark.x), y = pen.y(mark.y);
    var wide = mark.wide * pen.scale;
    if (!pen.holds(x, y, wide) || !visible(mark)) { return; }
    if (wide > SQUARE_PX) {
      pen.ctx.beginPath();
      pen.trace(squareOf(mark), true);
      if (mark.latest) { pen.fill(inks.report, 0.1); }
      pen.stroke(inks.report, mark.latest ? 2 : 0.9, mark.doubtful ? [6, 4] : []);
    }
  });
}

function visible(mark) {
  return mark.latest ? layers.positions.on : layers.older.on;
}

function drawOthers(pen, labels) {
  marks.forEach(function (mark) {
    if (!mark.latest) { return; }
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

function drawMarks(pen, labels) {
  var seen = marks.filter(function (mark) {
    return visible(mark) && pen.holds(pen.x(mark.x), pen.y(mark.y), 20);
  });
  var few = seen.length <= MOST_LABELLED;
  var older = seen.filter(function (mark) { return !mark.latest; });
  drawOlder(pen, older);
  drawDots(pen, older);
  seen.forEach(function (mark) {
    if (!mark.latest) { return; }
    var x = pen.x(mark.x), y = pen.y(mark.y);
    DRAW[mark.role](pen, x, y);
    labels.push(nameLabel(mark, x, y, few));
  });
}

var ORDER = { t: 5, s: 10, p: 15 };

function nameLabel(mark, x, y, few) {
  var old = few && scene.asAt !== null && mark.entry.time !== null && mark.role !== "p" &&
    scene.asAt - mark.entry.time >= 1800;
  return {
    text: isolate(shortened(mark.name, 24)) + (mark.doubtful ? " ?" : ""),
    more: old ? mark.entry.age : "",
    x: x, y: y, order: ORDER[mark.role], size: 15, bold: mark.role === "t",
    ink: mark.role === "t" ? inks.report : inks.place, places: around(mark.role === "p" ? 10 : 16)
  };
}

function drawWedges(pen) {
  bearings.forEach(function (bearing) {
    pen.ctx.beginPath();
    pen.trace(bearing.wedge, true);
    pen.fill(inks.bearing, 0.1);
  });
}

function drawBearings(pen, labels) {
  bearings.forEach(function (bearing) {
    var line = bearing.line, ctx = pen.ctx;
    ctx.beginPath();
    pen.trace(line);
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
  if (chosen === null || !entries[chosen].place) { return; }
  var place = entries[chosen].place, point = plane(place[0] / 1e6, place[1] / 1e6);
  var x = pen.x(point[0]), y = pen.y(point[1]);
  drawChosenLines(pen);
  disc(pen.ctx, x, y, 22);
  pen.stroke(inks.halo, 6);
  pen.stroke(inks.chosen, 3);
}
