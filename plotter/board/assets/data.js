// Reads the embedded data: whole millionths of a degree in steps become points of the map's plane.

function block(id) {
  return JSON.parse(document.getElementById(id).textContent);
}

var scene = block("scene-data");
var land = block("land-data");
var tiles = block("tile-data");
// What the instruments compute with: series, letters, the magnetic model.
var figures = block("figures");
var map = window.board_map;

// The plane of zoom 0: 256 pixels for the world. At zoom z a point lies 2^z times as far out.
function plane(lat, lon) {
  var sin = Math.sin(Math.max(-85.0511, Math.min(85.0511, lat)) * Math.PI / 180);
  return [(lon / 360 + 0.5) * 256, (0.5 - Math.log((1 + sin) / (1 - sin)) / (4 * Math.PI)) * 256];
}

// x, y, x, y ... of a path written as steps.
function path(steps, start) {
  var points = new Float64Array(steps.length);
  var lat = start ? start[0] : 0, lon = start ? start[1] : 0;
  for (var i = 0; i < steps.length; i += 2) {
    lat += steps[i];
    lon += steps[i + 1];
    var point = plane(lat / 1e6, lon / 1e6);
    points[i] = point[0];
    points[i + 1] = point[1];
  }
  return points;
}

// Not paths.map(path): that would take each one's number for its start.
function paths(list) {
  return list.map(function (steps) { return path(steps); });
}

// The narrower side of a square on the plane, from its steps alone: thousands are never drawn.
function narrower(steps, place) {
  var lat = 0, lon = 0, low = Infinity, high = -Infinity, west = Infinity, east = -Infinity;
  for (var i = 0; i < steps.length; i += 2) {
    lat += steps[i];
    lon += steps[i + 1];
    low = Math.min(low, lat);
    high = Math.max(high, lat);
    west = Math.min(west, lon);
    east = Math.max(east, lon);
  }
  var stretch = Math.max(Math.cos(place[0] / 1e6 * Math.PI / 180), 0.01);
  return Math.min((high - low) / stretch, east - west) * 256 / 360e6;
}

function squareOf(mark) {
  if (!mark.corners) { mark.corners = path(mark.steps, mark.entry.place); }
  return mark.corners;
}

function at(place) {
  return L.latLng(place[0] / 1e6, place[1] / 1e6);
}

var LATEST = 1, DOUBTFUL = 2;

var entries = (function () {
  var columns = scene.entries, texts = scene.texts, found = [];
  for (var i = 0; i < columns.line.length; i++) {
    found.push({
      index: i,
      kind: columns.kind[i],
      line: columns.line[i],
      time: columns.time[i] === null ? null : scene.last - columns.time[i],
      sender: texts[columns.sender[i]],
      subject: texts[columns.subject[i]],
      text: texts[columns.text[i]],
      age: texts[columns.age[i]],
      understood: texts[columns.understood[i]],
      place: columns.place[i] || null,
      questions: []
    });
  }
  scene.questions.forEach(function (question) {
    found[question[0]].questions.push(question[2]);
  });
  return found;
})();

var marks = (function () {
  var columns = scene.marks, found = [];
  for (var i = 0; i < columns.entry.length; i++) {
    var entry = entries[columns.entry[i]], flags = +columns.flags[i];
    var centre = plane(entry.place[0] / 1e6, entry.place[1] / 1e6);
    found.push({
      entry: entry,
      name: scene.texts[columns.name[i]],
      role: columns.role[i],
      latest: (flags & LATEST) !== 0,
      doubtful: (flags & DOUBTFUL) !== 0,
      x: centre[0],
      y: centre[1],
      steps: columns.square[i],
      wide: narrower(columns.square[i], entry.place),
      corners: null,
      others: []
    });
  }
  columns.others.forEach(function (pair) {
    found[pair[0]].others = paths(pair[1]);
  });
  return found;
})();

var bearings = scene.bearings.map(function (bearing) {
  return {
    entry: entries[bearing.entry],
    label: bearing.label,
    line: path(bearing.line),
    wedge: path(bearing.wedge),
    doubtful: bearing.doubtful
  };
});

var tracks = scene.tracks.map(function (track) {
  return { name: track.name, line: path(track.line), ages: track.ages };
});

function answerAt(answer) {
  var best = plane(answer.best[0] / 1e6, answer.best[1] / 1e6);
  return {
    at: answer.at,
    sector: answer.sector,
    x: best[0],
    y: best[1],
    pieces: answer.pieces.map(function (piece) {
      var point = plane(piece.best[0] / 1e6, piece.best[1] / 1e6);
      return {
        probability: piece.probability,
        share: piece.share,
        x: point[0],
        y: point[1],
        rings: paths(piece.rings)
      };
    })
  };
}

// One time for what stands still; else the latest last, and that one is shown first.
var answers = scene.answers.map(function (answer) {
  var times = answer.earlier.concat([answer]).map(answerAt);
  var found = { subject: answer.subject, times: times, chosen: times.length - 1 };
  return Object.assign(found, times[found.chosen]);
});
