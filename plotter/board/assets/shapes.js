// The shapes: an upright house for a station, a ring with a bar for a subject, a small filled square
// for a named place, crossed hairlines in a ring for the best point.

function house(ctx, x, y, r) {
  ctx.beginPath();
  ctx.moveTo(x, y - r);
  ctx.lineTo(x + r * 0.9, y - r * 0.15);
  ctx.lineTo(x + r * 0.9, y + r * 0.85);
  ctx.lineTo(x - r * 0.9, y + r * 0.85);
  ctx.lineTo(x - r * 0.9, y - r * 0.15);
  ctx.closePath();
}

function disc(ctx, x, y, r) {
  ctx.beginPath();
  ctx.arc(x, y, r, 0, 2 * Math.PI);
}

function drawStation(pen, x, y, latest) {
  house(pen.ctx, x, y, latest ? 12 : 8);
  if (!latest) { pen.stroke(inks.place, 1); return; }
  pen.fill(inks.paper);
  pen.stroke(inks.place, 2.5);
  disc(pen.ctx, x, y + 0.5, 3.2);
  pen.fill(inks.report);
}

function drawSubject(pen, x, y, latest) {
  var ctx = pen.ctx, r = latest ? 9 : 6;
  disc(ctx, x, y, r);
  if (latest) { pen.fill(inks.paper); }
  pen.stroke(inks.report, latest ? 3 : 1);
  ctx.beginPath();
  ctx.moveTo(x - r - 5, y);
  ctx.lineTo(x + r + 5, y);
  pen.stroke(inks.report, latest ? 3 : 1);
}

function drawPlace(pen, x, y, latest) {
  var r = latest ? 6 : 4;
  pen.ctx.beginPath();
  pen.ctx.rect(x - r, y - r, 2 * r, 2 * r);
  if (latest) { pen.stroke(inks.paper, 3); pen.fill(inks.place); } else { pen.stroke(inks.place, 1); }
}

var DRAW = { s: drawStation, t: drawSubject, p: drawPlace };

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
