// The quiet base: the land outline always, and map tiles where the board carries some.

var sheets = land.map(function (part) {
  var corners = path(part.box);
  return {
    corners: box(corners),
    borders: paths(part.borders),
    land: part.land.map(function (rings) {
      var found = paths(rings);
      return { rings: found, bounds: box(found[0]) };
    })
  };
});

function drawLand(pen) {
  var ctx = pen.ctx;
  sheets.forEach(function (sheet) {
    var c = sheet.corners, x = pen.x(c[0]), y = pen.y(c[1]);
    ctx.save();
    ctx.beginPath();
    ctx.rect(x, y, pen.x(c[2]) - x, pen.y(c[3]) - y);
    ctx.clip();
    ctx.fillStyle = inks.water;
    ctx.fillRect(0, 0, pen.size.x, pen.size.y);
    sheet.land.forEach(function (piece) {
      if (!pen.sees(piece.bounds)) { return; }
      ctx.beginPath();
      piece.rings.forEach(function (ring) { pen.trace(ring, true); });
      pen.fill(inks.land);
      ctx.beginPath();
      piece.rings.forEach(function (ring) { coast(pen, ring, c); });
      pen.stroke(inks.coast, 1.25);
    });
    ctx.beginPath();
    sheet.borders.forEach(function (line) { pen.traceSeen(line); });
    // Thin and broken: a border is not on the ground.
    pen.stroke(inks.coast, 1, [9, 3, 2, 3]);
    ctx.restore();
  });
}

// A coast is not drawn along the edge where the outline was cut.
function coast(pen, ring, cut) {
  function onEdge(i, j) {
    return [0, 2].some(function (k) {
      return Math.abs(ring[i] - cut[k]) < 1e-4 && Math.abs(ring[j] - cut[k]) < 1e-4;
    }) || [1, 3].some(function (k) {
      return Math.abs(ring[i + 1] - cut[k]) < 1e-4 && Math.abs(ring[j + 1] - cut[k]) < 1e-4;
    }) || (ring[i] === ring[j] && Math.abs(ring[i] % 256) < 1e-4);
  }
  for (var i = 0; i < ring.length; i += 2) {
    var j = (i + 2) % ring.length;
    if (onEdge(i, j)) { continue; }
    pen.ctx.moveTo(pen.x(ring[i]), pen.y(ring[i + 1]));
    pen.ctx.lineTo(pen.x(ring[j]), pen.y(ring[j + 1]));
  }
}

// Where a level is not on board, the part of the next coarser tile stands in for it; below the
// finest level any finer one is cut from it. Two levels up letters would be as large as villages.
var finest = Object.keys(tiles).reduce(function (most, key) {
  return Math.max(most, parseInt(key, 10));
}, 0);

var Tiles = L.GridLayer.extend({
  createTile: function (coords, done) {
    var canvas = document.createElement("canvas"), size = this.getTileSize();
    canvas.width = size.x;
    canvas.height = size.y;
    var side = Math.pow(2, coords.z), x = ((coords.x % side) + side) % side, y = coords.y;
    var most = Math.min(Math.max(coords.z - finest, 0) + 1, coords.z);
    for (var up = 0; up <= most; up++) {
      var key = (coords.z - up) + "/" + (x >> up) + "/" + (y >> up);
      if (Object.prototype.hasOwnProperty.call(tiles, key)) {
        paint(canvas, tiles[key], up, x, y, done);
        return canvas;
      }
    }
    setTimeout(function () { done(null, canvas); }, 0);
    return canvas;
  }
});

function paint(canvas, uri, up, x, y, done) {
  var image = new Image(), part = Math.pow(2, up);
  image.onload = function () {
    var wide = image.width / part, high = image.height / part;
    canvas.getContext("2d").drawImage(image, (x % part) * wide, (y % part) * high, wide, high,
      0, 0, canvas.width, canvas.height);
    done(null, canvas);
  };
  image.onerror = function () { done(new Error("a map tile could not be drawn"), canvas); };
  image.src = uri;
}
