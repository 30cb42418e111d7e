// What was computed: the regions, their pieces with their share, and the best point.

function hatching() {
  var tile = document.createElement("canvas");
  tile.width = tile.height = 14;
  var ctx = tile.getContext("2d");
  ctx.strokeStyle = inks.computed;
  ctx.globalAlpha = 0.35;
  ctx.lineWidth = 1;
  ctx.beginPath();
  ctx.moveTo(-1, 15);
  ctx.lineTo(15, -1);
  ctx.moveTo(-1, 1);
  ctx.lineTo(1, -1);
  ctx.moveTo(13, 15);
  ctx.lineTo(15, 13);
  ctx.stroke();
  return tile;
}

// What a direction leaves possible covers the whole map; it is drawn when asked for.
function tooWide(answer, piece) {
  return answer.sector && piece.probability > 0.7 && !layers.directions.on;
}

function drawRegions(pen) {
  var pattern = pen.ctx.createPattern(hatching(), "repeat");
  answers.forEach(function (answer) {
    answer.pieces.forEach(function (piece) {
      if (tooWide(answer, piece) || cutUp(answer)) { return; }
      pen.ctx.beginPath();
      piece.rings.forEach(function (ring) { pen.trace(ring, true); });
      if (piece.probability > 0.7) {
        pen.fill(pattern);
        pen.stroke(inks.computed, 1.75);
      } else {
        pen.fill(inks.region, 0.35);
        pen.stroke(inks.computed, 0.75);
      }
    });
  });
}

function drawAnswers(pen, labels) {
  answers.forEach(function (answer) {
    var outer = answer.pieces.length ? answer.pieces[0].probability : 0;
    answer.pieces.forEach(function (piece, index) {
      var x = pen.x(piece.x), y = pen.y(piece.y);
      if (tooWide(answer, piece) || piece.probability !== outer || piece.share < 0.005 || !pen.holds(x, y, 0)) { return; }
      var best = Math.hypot(x - pen.x(answer.x), y - pen.y(answer.y)) < 20;
      if (!best) {
        disc(pen.ctx, x, y, 3);
        pen.fill(inks.computed);
      }
      if (answer.pieces.filter(function (other) { return other.probability === outer; }).length > 1) {
        labels.push({
          text: Math.round(piece.share * 100) + " %", x: x, y: y, order: 4 + index / 1000,
          ink: inks.computed, size: 16, bold: true, places: around(best ? 18 : 8)
        });
      }
    });
    drawOtherTimes(pen, answer, labels);
    // What no point describes has none to aim at.
    if (!answer.sector) { drawBest(pen, pen.x(answer.x), pen.y(answer.y)); }
    labels.push({
      text: isolate(shortened(answer.subject, 24)) + ": " + answer.called,
      more: answer.at === null ? "" : timeWords(answer.at),
      x: pen.x(answer.x), y: pen.y(answer.y), order: 0, ink: inks.computed, size: 16, bold: true,
      places: around(18)
    });
  });
}
