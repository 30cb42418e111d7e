// What else was said of the thing looked for: how far it is, who heard it, which ground matters.

function outline(each) {
  return { points: path(each[0]), pole: each[1] };
}

var ranges = scene.ranges.map(function (range) {
  return {
    entry: entries[range.entry],
    label: range.label,
    observer: path(range.observer),
    line: outline(range.line),
    band: range.band.map(outline),
    doubtful: range.doubtful
  };
});

// Marks at one place stand beside each other: heard to the right, not heard to the left.
var watches = (function () {
  var count = {};
  return scene.watches.map(function (watch) {
    var point = path(watch.place), side = watch.heard ? 1 : -1, key = side + " " + watch.place;
    count[key] = (count[key] || 0) + 1;
    return {
      entry: entries[watch.entry],
      label: watch.label,
      heard: watch.heard,
      x: point[0],
      y: point[1],
      dx: side * (17 * count[key]),
      dy: -16
    };
  });
})();

var grounds = scene.ground.map(function (ground) {
  return {
    entry: entries[ground.entry],
    label: ground.label,
    kind: ground.kind,
    outlines: ground.outlines.map(outline),
    outside: ground.outside,
    doubtful: ground.doubtful
  };
});

// Adds the ground inside to the path: round a pole it reaches to the edge of the map.
function traceInside(pen, each) {
  var points = each.points, n = points.length;
  pen.trace(points, !each.pole);
  if (each.pole) {
    var edge = pen.y(each.pole > 0 ? 0 : 256);
    pen.ctx.lineTo(pen.x(points[n - 2]), edge);
    pen.ctx.lineTo(pen.x(points[0]), edge);
    pen.ctx.closePath();
  }
}

function drawBands(pen) {
  ranges.forEach(function (range) {
    if (!isShown(range.entry)) { return; }
    pen.ctx.beginPath();
    if (!range.doubtful) {
      range.band.forEach(function (each) { traceInside(pen, each); });
      pen.fill(inks.bearing, 0.1);
      return;
    }
    // A guessed distance may be half as far or twice as far: shading all that would hide the rest.
    range.band.forEach(function (each) { traceLine(pen, each.points); });
    pen.stroke(inks.bearing, 1, [2, 6]);
  });
}

function drawRanges(pen, labels) {
  ranges.forEach(function (range) {
    if (!isShown(range.entry)) { return; }
    pen.ctx.beginPath();
    traceLine(pen, range.line.points);
    pen.stroke(inks.bearing, 2, range.doubtful ? [9, 6] : []);
    disc(pen.ctx, pen.x(range.observer[0]), pen.y(range.observer[1]), 3);
    pen.fill(inks.bearing);
    nameAlong(pen, range.line.points, {
      text: isolate(shortened(range.label, 44)), order: 31, size: 15, ink: inks["bearing-text"]
    }, labels);
  });
}

// A line beyond the edge of the map is not drawn along that edge.
function traceLine(pen, points) {
  function beyond(i) { return points[i + 1] < 0.001 || points[i + 1] > 255.999; }
  for (var i = 0; i + 3 < points.length; i += 2) {
    if (beyond(i) && beyond(i + 2)) { continue; }
    if (!i || beyond(i)) { pen.ctx.moveTo(pen.x(points[i]), pen.y(points[i + 1])); }
    pen.ctx.lineTo(pen.x(points[i + 2]), pen.y(points[i + 3]));
  }
}

// A label on the line itself, like the height on a contour: areas and rings lie over one another.
function nameAlong(pen, points, label, labels) {
  var parts = Math.ceil(64 / points.length), seen = [];
  for (var i = 0; i + 3 < points.length; i += 2) {
    for (var part = 0; part < parts; part++) {
      var share = (part + 0.5) / parts;
      var x = pen.x(points[i] + share * (points[i + 2] - points[i]));
      var y = pen.y(points[i + 1] + share * (points[i + 3] - points[i + 1]));
      if (inView(pen, { x: x, y: y })) { seen.push([x, y]); }
    }
  }
  if (!seen.length) { return; }
  var first = seen[0], step = Math.ceil(seen.length / 24);
  label.x = first[0];
  label.y = first[1];
  label.places = seen.filter(function (_, index) { return index % step === 0; }).map(function (point) {
    return [point[0] - first[0], point[1] - first[1], "center"];
  });
  labels.push(label);
}

// Heard: a dot with two waves. Not heard: a cross.
function drawHeard(pen, x, y) {
  var ctx = pen.ctx;
  function waves() {
    ctx.beginPath();
    [6, 10].forEach(function (r) {
      ctx.moveTo(x - 4 + r * Math.cos(0.9), y - r * Math.sin(0.9));
      ctx.arc(x - 4, y, r, -0.9, 0.9);
    });
  }
  waves();
  pen.stroke(inks.halo, 6);
  waves();
  pen.stroke(inks.bearing, 2.5);
  disc(ctx, x - 4, y, 3.2);
  pen.stroke(inks.halo, 2);
  pen.fill(inks.bearing);
}

function drawNotHeard(pen, x, y) {
  var ctx = pen.ctx;
  ctx.beginPath();
  ctx.moveTo(x - 5, y - 5);
  ctx.lineTo(x + 5, y + 5);
  ctx.moveTo(x + 5, y - 5);
  ctx.lineTo(x - 5, y + 5);
  pen.stroke(inks.halo, 6);
  pen.stroke(inks.bearing, 2.5);
}

function drawWatches(pen, labels) {
  watches.forEach(function (watch) {
    if (!isShown(watch.entry)) { return; }
    var x = pen.x(watch.x), y = pen.y(watch.y);
    if (!pen.holds(x, y, 30)) { return; }
    (watch.heard ? drawHeard : drawNotHeard)(pen, x + watch.dx, y + watch.dy);
    var words = isolate(shortened(watch.label, 44)), sender = watch.entry.sender;
    // Beside the sender's own mark, its name is on the map already.
    var named = latestMarks.some(function (mark) {
      return mark.name === sender && visible(mark) &&
        Math.hypot(pen.x(mark.x) - x, pen.y(mark.y) - y) < 20;
    });
    labels.push({
      text: named ? words : isolate(shortened(sender, 24)) + ": " + words, order: 35, size: 15,
      x: x + watch.dx, y: y + watch.dy, ink: inks["bearing-text"], places: around(10)
    });
  });
}

// Lines that fall to the right, against those of the region: close for ruled out, wide for searched.
function groundHatching(kind) {
  var tile = document.createElement("canvas"), close = kind === "ruled out";
  var side = tile.width = tile.height = close ? 7 : 16;
  var ctx = tile.getContext("2d");
  ctx.strokeStyle = inks.place;
  ctx.globalAlpha = close ? 0.6 : 0.55;
  ctx.lineWidth = close ? 1.2 : 1;
  ctx.beginPath();
  [-side, 0, side].forEach(function (shift) {
    ctx.moveTo(shift - 2, -2);
    ctx.lineTo(shift + side + 2, side + 2);
  });
  ctx.stroke();
  return tile;
}

function drawGround(pen, labels) {
  var patterns = {};
  grounds.forEach(function (ground) {
    if (!isShown(ground.entry)) { return; }
    var ctx = pen.ctx, kind = ground.kind;
    if (kind !== "likely") {
      patterns[kind] = patterns[kind] || ctx.createPattern(groundHatching(kind), "repeat");
      ctx.beginPath();
      if (ground.outside) { ctx.rect(0, 0, pen.size.x, pen.size.y); }
      ground.outlines.forEach(function (each) { traceInside(pen, each); });
      pen.fill(patterns[kind]);
    }
    ctx.beginPath();
    ground.outlines.forEach(function (each) { traceLine(pen, each.points); });
    pen.stroke(inks.place, 2, ground.doubtful ? [6, 4] : []);
    nameAlong(pen, ground.outlines[0].points, {
      text: ground.label, order: 25, size: 15, ink: inks.place
    }, labels);
  });
}

// The ring or the area of the chosen report, so that it is known among others.
function drawChosenLines(pen) {
  ranges.forEach(function (range) {
    if (range.entry.index === chosen) { heavy(pen, [range.line]); }
  });
  grounds.forEach(function (ground) {
    if (ground.entry.index === chosen) { heavy(pen, ground.outlines); }
  });
}

function heavy(pen, outlines) {
  pen.ctx.beginPath();
  outlines.forEach(function (each) { traceLine(pen, each.points); });
  pen.stroke(inks.chosen, 4);
}

function keepEvidenceKey() {
  function ringKey(dash) {
    return function (pen) {
      disc(pen.ctx, -24, 18, 52);
      if (!dash.length) {
        pen.ctx.arc(-24, 18, 68, 0, 2 * Math.PI);
        pen.fill(inks.bearing, 0.1);
      }
      if (dash.length) {
        pen.ctx.moveTo(44, 18);
        pen.ctx.arc(-24, 18, 68, 0, 2 * Math.PI);
        pen.stroke(inks.bearing, 1, [2, 6]);
      }
      disc(pen.ctx, -24, 18, 60);
      pen.stroke(inks.bearing, 2, dash);
    };
  }
  function groundKey(kind) {
    return function (pen) {
      pen.ctx.beginPath();
      pen.ctx.rect(6, 5, 44, 26);
      if (kind !== "likely") { pen.fill(pen.ctx.createPattern(groundHatching(kind), "repeat")); }
      pen.stroke(inks.place, 2);
    };
  }
  function some(list, test) { return list.some(test); }
  if (some(ranges, function (range) { return !range.doubtful; })) {
    KEY.push(["Distance; shading one standard error", ringKey([])]);
  }
  if (some(ranges, function (range) { return range.doubtful; })) {
    KEY.push(["Guessed or doubtful distance; dotted one standard error", ringKey([9, 6])]);
  }
  if (some(watches, function (watch) { return watch.heard; })) {
    KEY.push(["Listened there and heard it", function (pen) { drawHeard(pen, 28, 18); }]);
  }
  if (some(watches, function (watch) { return !watch.heard; })) {
    KEY.push(["Listened there and did not hear it", function (pen) { drawNotHeard(pen, 28, 18); }]);
  }
  ["ruled out", "searched", "likely"].forEach(function (kind) {
    if (!some(grounds, function (ground) { return ground.kind === kind; })) { return; }
    var words = {
      "ruled out": "Ground ruled out",
      searched: "Ground searched; so many % would have been found",
      likely: "Ground more likely than elsewhere"
    };
    KEY.push([words[kind], groundKey(kind)]);
  });
}
