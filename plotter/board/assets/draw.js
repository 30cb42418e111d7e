// Drawing: a point, a line or an area with a name. Kept in the open page only, and taken away as a file.

var drawings = [], drawing = { kind: null, points: [] };
var KINDS = { point: "Point", line: "Line", area: "Area" };

function drawTool() {
  var body = toolBody("draw", "Draw", {
    open: function () { if (drawing.kind) { start(drawing.kind); } else { show(); } }
  });
  var kinds = make("div", "choices"), kindButtons = {}, hint = make("p", "quiet"), told = make("p");
  var label = make("label", "field", "Name "), name = make("input"), list = make("ul", "rows");
  told.setAttribute("role", "status");
  name.type = "text";
  name.maxLength = 120;
  name.autocomplete = "off";
  label.append(name);
  Object.keys(KINDS).forEach(function (kind) {
    kindButtons[kind] = button(KINDS[kind], "", function () { start(kind); });
    kinds.append(kindButtons[kind]);
  });
  var actions = make("div", "choices"), files = make("div", "choices");
  var keep = button("Keep", "", keepDrawing), middle = button("Add the middle", "", function () { drawer.add(mapMiddle()); });
  var back = button("Remove last", "", function () { drawer.back(); });
  actions.append(middle, back, keep);
  files.append(button("Save as GeoJSON", "", function () {
    saveFile("drawings.geojson", "application/geo+json", geojsonOf(drawings));
  }), button("Save as GPX", "", function () {
    saveFile("drawings.gpx", "application/gpx+xml", gpxOf(drawings));
  }));
  var drawer = {
    add: function (place) {
      if (drawing.kind === "point") { drawing.points = []; }
      addPlace(drawing.points, place);
      show();
    },
    back: function () {
      drawing.points.pop();
      show();
    },
    end: function () {
      drawing = { kind: null, points: [] };
      take(null);
      show();
    }
  };
  function start(kind) {
    var points = drawing.kind === kind ? drawing.points : drawing.points.slice(0, kind === "point" ? 1 : undefined);
    drawing = { kind: kind, points: points };
    take(drawer);
    show();
  }
  function keepDrawing() {
    var wrong = wrongWith(drawing);
    told.textContent = wrong;
    if (wrong) { return; }
    drawings.push({
      kind: drawing.kind, points: drawing.points,
      name: name.value.trim() || KINDS[drawing.kind] + " " + (drawings.length + 1)
    });
    name.value = "";
    drawing = { kind: drawing.kind, points: [] };
    show();
  }
  function show() {
    Object.keys(KINDS).forEach(function (kind) {
      kindButtons[kind].setAttribute("aria-pressed", String(kind === drawing.kind));
    });
    hint.textContent = !drawing.kind ? "Choose what to draw." : drawing.kind === "point" ?
      "Click or tap the map, or press Enter there for its middle. Escape ends." :
      "Click or tap the map to add corners. On the map's keys: Enter adds the middle, Backspace removes the last, Escape ends.";
    actions.hidden = label.hidden = !drawing.kind;
    back.disabled = keep.disabled = !drawing.points.length;
    files.hidden = !drawings.length;
    list.replaceChildren.apply(list, drawings.map(row));
    if (!drawing.points.length) { told.textContent = ""; }
    redrawTools();
  }
  function row(each, index) {
    var item = make("li", "kept"), remove = button("Remove", "small", function () {
      drawings.splice(index, 1);
      show();
    });
    remove.setAttribute("aria-label", "Remove " + plain(each.name));
    item.append(said(each.name, "who"), make("span", "quiet", KINDS[each.kind]), remove);
    return item;
  }
  body.append(kinds, hint, told, label, actions, list, files,
    make("p", "quiet", "Drawings last until this page is closed: save them first."));
}

function wrongWith(one) {
  var least = { point: 1, line: 2, area: 3 }[one.kind], points = one.points;
  if (points.length < least) { return one.kind === "line" ? "A line needs two points." : "An area needs three corners."; }
  if (one.kind !== "area") { return ""; }
  var turn = alongPath(points, true);
  if (Math.abs(turn[turn.length - 1][1] - points[0][1]) > 1 || Math.abs(points[points.length - 1][1] - points[0][1]) > 180) {
    return "An area round a pole cannot be drawn here.";
  }
  return crossesItself(points) ? "The outline crosses itself: remove corners and set them again." : "";
}

function crossesItself(points) {
  var n = points.length;
  function side(a, b, c) { return Math.sign((b[1] - a[1]) * (c[0] - a[0]) - (b[0] - a[0]) * (c[1] - a[1])); }
  for (var i = 0; i < n; i += 1) {
    for (var j = i + 2; j < n; j += 1) {
      var a = points[i], b = points[i + 1], c = points[j], d = points[(j + 1) % n];
      if (i === 0 && j === n - 1) { continue; }
      if (side(a, b, c) !== side(a, b, d) && side(c, d, a) !== side(c, d, b)) { return true; }
    }
  }
  return false;
}

function drawDrawings(pen, labels) {
  var all = drawings.concat(toolOpen === "draw" && drawing.kind ? [drawing] : []);
  all.forEach(function (each, index) {
    var points = each.points, area = each.kind === "area", first = points[0];
    if (!first) { return; }
    if (area && points.length > 2) {
      pen.ctx.beginPath();
      pen.trace(onPlane(alongPath(points, true)), true);
      pen.fill(inks.place, 0.12);
    }
    if (points.length > 1) { drawPath(pen, points, inks.place, area && points.length > 2); }
    if (each === drawing || each.kind === "point") { drawKnots(pen, points, inks.place); }
    var point = plane(first[0], first[1]);
    labels.push({
      text: each.name ? isolate(shortened(each.name, 32)) : "", x: pen.x(point[0]), y: pen.y(point[1]),
      order: 5 + index / 1000, size: 15, bold: true, ink: inks.place, places: around(9)
    });
  });
}
