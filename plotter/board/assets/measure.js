// Measuring: along a path, leg by leg, or from one point to wherever the pointer or the map's middle is.

var measured = { path: [], ruler: [], mode: "path" };

function measureTool() {
  var body = toolBody("measure", "Measure", { open: function () { start(measured.mode); } });
  var modes = make("div", "choices"), told = make("p", "result"), list = make("ol", "legs"), modeButtons = {};
  var hint = make("p", "quiet");
  told.setAttribute("role", "status");
  [["path", "Along a path"], ["ruler", "From one point"]].forEach(function (pair) {
    modeButtons[pair[0]] = button(pair[1], "", function () { start(pair[0]); });
    modes.append(modeButtons[pair[0]]);
  });
  var actions = make("div", "choices");
  actions.append(
    button("Add the middle", "", function () {
      start(measured.mode);
      measurer.add(mapMiddle());
    }),
    button("Remove last", "", function () { measurer.back(); }),
    button("Clear", "", function () {
      measured[measured.mode] = [];
      show();
    })
  );
  var measurer = {
    add: function (place) {
      if (measured.mode === "ruler") {
        measured.ruler = [];
        addPlace(measured.ruler, place);
      } else {
        addPlace(measured.path, place);
      }
      show();
    },
    back: function () {
      measured[measured.mode].pop();
      show();
    },
    end: function () {
      take(null);
      show();
    },
    moved: function () {
      if (measured.mode !== "ruler" || !measured.ruler.length) { return; }
      showRuler();
      redrawTools();
    }
  };
  function start(mode) {
    measured.mode = mode;
    take(measurer);
    show();
  }
  function show() {
    var points = measured.path, sum = 0, fine = 0, path = measured.mode === "path";
    Object.keys(modeButtons).forEach(function (name) {
      modeButtons[name].setAttribute("aria-pressed", String(taking === measurer && name === measured.mode));
    });
    hint.textContent = taking !== measurer ? "Ended. Choose one of the two to go on." : path ?
      "Click or tap the map to add points. On the map's keys: Enter adds the middle, Backspace removes the last, Escape ends." :
      "Click or tap where to measure from, or press Enter for the middle; then point, or move the map. Escape ends.";
    list.replaceChildren();
    points.slice(1).forEach(function (place, i) {
      var way = wayOf(points[i], place), item = make("li");
      sum += way.metres;
      fine = Math.max(fine, way.fine);
      item.append(make("b", "", way.distance), " " + way.bearings);
      if (path) { list.append(item); }
    });
    told.textContent = path && points.length > 1 ?
      "Total " + distanceWords(sum, Math.pow(10, power(fine))) : "";
    showRuler();
    redrawTools();
  }
  function showRuler() {
    if (measured.mode !== "ruler" || !measured.ruler.length) { return; }
    var way = wayOf(measured.ruler[0], (pointer || mapMiddle()));
    put(told, way.distance + (way.bearings ? ", " + way.bearings : ""));
  }
  body.append(modes, hint, actions, told, list);
}

function drawMeasure(pen, labels) {
  var ruler = measured.mode === "ruler", points = measured[measured.mode];
  if (ruler && points.length && taking) {
    var there = [];
    addPlace(there, points[0]);
    addPlace(there, (pointer || mapMiddle()));
    points = there;
  }
  if (points.length > 1) { drawPath(pen, points, inks.computed, false); }
  drawKnots(pen, points.slice(0, ruler ? 1 : points.length), inks.computed);
  points.slice(1).forEach(function (place, i) {
    var line = alongGeodesic(points[i], place), middle = line[Math.floor(line.length / 2)];
    var a = line.length === 2 ? [(line[0][0] + line[1][0]) / 2, (line[0][1] + line[1][1]) / 2] : middle;
    var point = plane(a[0], a[1]), way = wayOf(points[i], place);
    labels.push({
      text: way.distance + ", " + way.bearings.split(",")[0], x: pen.x(point[0]), y: pen.y(point[1]),
      order: 2 + i / 1000, size: 15, ink: inks.computed, places: around(8)
    });
  });
}
