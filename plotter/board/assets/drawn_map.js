// The map that is drawn from layers on board: ground cover, water, ways, houses, in looks of their own.

var drawn = block("drawn-data"), drawnKinds = drawn ? drawn.kinds.map(function (kind) {
  return {
    kind: kind.kind,
    look: kind.look,
    shapes: kind.shapes.map(function (shape) {
      var found = shape[1].map(drawnPath);
      return { area: shape[0] === 1, paths: found, name: shape[2] || "", bounds: box(found[0]) };
    })
  };
}) : [];
drawnKinds.sort(function (a, b) { return (a.look.order || 0) - (b.look.order || 0); });

function drawnPath(steps) {
  var points = new Float64Array(steps.length), x = 0, y = 0, side = 256 / drawn.units;
  for (var i = 0; i < steps.length; i += 2) {
    x += steps[i];
    y += steps[i + 1];
    points[i] = x * side;
    points[i + 1] = y * side;
  }
  return points;
}

function drawDrawnMap(pen) {
  if (!layers.drawn.on) { return; }
  var zoom = map.getZoom();
  drawnKinds.forEach(function (kind) {
    var look = kind.look;
    if (look.size || zoom < look.from_zoom) { return; }
    var wide = Math.max(look.width * Math.pow(0.75, 14 - zoom), 0.5);
    var dash = look.dash.map(function (part) { return part * wide / look.width; });
    pen.ctx.beginPath();
    kind.shapes.forEach(function (shape) {
      if (!pen.sees(shape.bounds)) { return; }
      shape.paths.forEach(function (path) {
        if (shape.area) { pen.trace(path, true); } else { pen.traceSeen(path); }
      });
    });
    if (look.fill) { pen.fill(look.fill); }
    if (look.line) { pen.stroke(look.line, wide, dash); }
    if (look.core && wide > 2) { pen.stroke(look.core, wide - 1.5); }
  });
}

function nameDrawnMap(pen, labels) {
  if (!layers.drawn.on) { return; }
  drawnKinds.forEach(function (kind) {
    if (!kind.look.size || map.getZoom() < kind.look.from_zoom) { return; }
    kind.shapes.forEach(function (shape) {
      var x = pen.x(shape.paths[0][0]), y = pen.y(shape.paths[0][1]);
      if (!shape.name || !pen.holds(x, y, 0)) { return; }
      labels.push({
        text: isolate(shortened(shape.name, 32)), x: x, y: y, order: 97, ink: inks["grid-text"], size: 15,
        places: [[0, 0, "center"]].concat(around(6))
      });
    });
  });
}
