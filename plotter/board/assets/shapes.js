// The shapes: an upright house for a station, a ring with a bar for a subject, a small filled square
// for a named place, crossed hairlines in a ring for the best point. A proposed place to listen from is
// a hollow house with its rank.

// Each adds itself to the current path.
function house(ctx, x, y, r) {
  ctx.moveTo(x, y - r);
  ctx.lineTo(x + r * 0.9, y - r * 0.15);
  ctx.lineTo(x + r * 0.9, y + r * 0.85);
  ctx.lineTo(x - r * 0.9, y + r * 0.85);
  ctx.lineTo(x - r * 0.9, y - r * 0.15);
  ctx.closePath();
}

function ring(ctx, x, y, r) {
  ctx.moveTo(x + r, y);
  ctx.arc(x, y, r, 0, 2 * Math.PI);
}

function bar(ctx, x, y, r) {
  ctx.moveTo(x - r - 5, y);
  ctx.lineTo(x + r + 5, y);
}

function small(ctx, x, y, r) {
  ctx.rect(x - r, y - r, 2 * r, 2 * r);
}

function disc(ctx, x, y, r) {
  ctx.beginPath();
  ctx.arc(x, y, r, 0, 2 * Math.PI);
}

function drawStation(pen, x, y) {
  pen.ctx.beginPath();
  house(pen.ctx, x, y, 12);
  pen.fill(inks.paper);
  pen.stroke(inks.place, 2.5);
  disc(pen.ctx, x, y + 0.5, 3.2);
  pen.fill(inks.report);
}

function drawSubject(pen, x, y) {
  disc(pen.ctx, x, y, 9);
  pen.fill(inks.paper);
  bar(pen.ctx, x, y, 9);
  pen.stroke(inks.report, 3);
}

function drawPlace(pen, x, y) {
  pen.ctx.beginPath();
  small(pen.ctx, x, y, 6);
  pen.stroke(inks.paper, 3);
  pen.fill(inks.place);
}

var DRAW = { s: drawStation, t: drawSubject, p: drawPlace };

// Older positions keep their shape, thinned to an outline. Many share one stroke, but not all: the
// cost of filling a path grows faster than its length.
var PER_STROKE = 100;

function drawOlder(pen, older) {
  var ctx = pen.ctx;
  ["s", "t", "p"].forEach(function (role) {
    var ink = role === "t" ? inks.report : inks.place, waiting = 0;
    ctx.beginPath();
    older.forEach(function (index) {
      if (ROLES[columns.markRole[index]] !== role) { return; }
      var x = pen.x(markX[index]), y = pen.y(markY[index]);
      if (role === "s") { house(ctx, x, y, 8); }
      if (role === "t") { ring(ctx, x, y, 6); bar(ctx, x, y, 6); }
      if (role === "p") { small(ctx, x, y, 4); }
      if (++waiting === PER_STROKE) {
        pen.stroke(ink, 1);
        ctx.beginPath();
        waiting = 0;
      }
    });
    pen.stroke(ink, 1);
  });
}

// The dot of a reported square too small to draw.
function drawDots(pen, older, opacity) {
  pen.ctx.globalAlpha = opacity;
  pen.ctx.fillStyle = inks.report;
  older.forEach(function (index) {
    if (markWide[index] * pen.scale <= SQUARE_PX) {
      pen.ctx.fillRect(pen.x(markX[index]) - 1.5, pen.y(markY[index]) - 1.5, 3, 3);
    }
  });
  pen.ctx.globalAlpha = 1;
}

function ringWithDot(pen, x, y, ink, dash) {
  disc(pen.ctx, x, y, 6);
  pen.stroke(ink, 1.5, dash);
  disc(pen.ctx, x, y, 1.8);
  pen.fill(ink);
}

function drawBest(pen, x, y) {
  var ctx = pen.ctx;
  disc(ctx, x, y, 13);
  pen.stroke(inks.halo, 5);
  pen.stroke(inks.computed, 2);
  ctx.beginPath();
  ctx.moveTo(x - 20, y);
  ctx.lineTo(x + 20, y);
  ctx.moveTo(x, y - 20);
  ctx.lineTo(x, y + 20);
  pen.stroke(inks.computed, 1.25);
}

function arrow(pen, x, y, angle, ink) {
  var ctx = pen.ctx;
  ctx.beginPath();
  ctx.moveTo(x + 9 * Math.cos(angle), y + 9 * Math.sin(angle));
  ctx.lineTo(x + 7 * Math.cos(angle + 2.4), y + 7 * Math.sin(angle + 2.4));
  ctx.lineTo(x + 7 * Math.cos(angle - 2.4), y + 7 * Math.sin(angle - 2.4));
  ctx.closePath();
  pen.fill(ink);
}
