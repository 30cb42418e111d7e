// Puts it together: panes, layers, the controls at the corners, and what a touch on the map does.

var layers = {
  drawn: { on: true, words: "Drawn map", absent: !drawnKinds.length },
  tiles: { on: true, words: "Map", absent: !Object.keys(tiles).length },
  positions: { on: true, words: "Latest positions" },
  older: { on: true, words: "Older positions and tracks", absent: latestMarks.length === marks.length },
  bearings: { on: true, words: "Lines of bearing", absent: !bearings.length },
  ranges: { on: true, words: "Distances", absent: !ranges.length },
  watches: { on: true, words: "Who heard it, who did not", absent: !watches.length },
  ground: { on: true, words: "Ground ruled out, searched or likely", absent: !grounds.length },
  regions: { on: true, words: "Regions of the answer", absent: !answers.length },
  directions: {
    on: false, words: "Whole region of a direction",
    absent: !answers.some(function (answer) {
      return answer.times.some(function (time) { return time.sector; });
    })
  },
  listening: { on: true, words: "Places to listen from", absent: !proposals.length },
  sectors: { on: true, words: "Sectors to search", absent: !sectors.length },
  labels: { on: true, words: "Labels" }
};

function drawAll(pen) {
  var labels = [];
  nameDrawnMap(pen, labels);
  drawGrid(pen, labels);
  if (layers.ground.on) { drawGround(pen, labels); }
  if (layers.bearings.on) { drawWedges(pen); }
  if (layers.ranges.on) { drawBands(pen); }
  // What was worked out counts all reports: it is not shown beside fewer.
  var computed = cut === 0, seen = marksInView(pen);
  if (layers.regions.on && computed) { drawRegions(pen); }
  if (layers.sectors.on && computed) { drawSectors(pen); }
  drawSquares(pen, seen);
  if (layers.older.on) { drawTracks(pen, labels); }
  if (layers.bearings.on) { drawBearings(pen, labels); }
  if (layers.ranges.on) { drawRanges(pen, labels); }
  if (layers.positions.on) { drawOthers(pen, labels); }
  drawMarks(pen, labels, seen);
  if (layers.watches.on) { drawWatches(pen, labels); }
  if (layers.regions.on && computed) { drawAnswers(pen, labels); }
  if (layers.listening.on && computed) { drawListening(pen, labels); }
  if (layers.sectors.on && computed) { nameSectors(pen, labels); }
  drawChosen(pen);
  if (layers.labels.on) { drawLabels(pen, labels, shapesInView(pen)); }
}

var tileLayer = new Tiles({ maxZoom: 20 });
var landSheet, baseSheet, reportSheet;

function showTiles() {
  if (layers.tiles.on && !layers.tiles.absent) { tileLayer.addTo(map); } else { tileLayer.remove(); }
}

function redrawAll() {
  showTiles();
  landSheet.redraw();
  if (baseSheet) { baseSheet.redraw(); }
  reportSheet.redraw();
  redrawTools();
}

function nearest(point) {
  var best = null, least = 24, scale = Math.pow(2, map.getZoom());
  var corner = map.getPixelOrigin().add(map.containerPointToLayerPoint([0, 0]));
  // Newest first: of several on one spot the newest is meant.
  for (var entry = cut; entry < entries.length; entry += 1) {
    var i = markOf[entry];
    if (i < 0) { continue; }
    var x = markX[i] * scale - corner.x - point.x, y = markY[i] * scale - corner.y - point.y;
    if (Math.abs(x) > 24 || Math.abs(y) > 24 || !visible(marks[i])) { continue; }
    var far = Math.hypot(x, y) + (newest[i] ? 0 : 4);
    if (far < least) { least = far; best = entry; }
  }
  watches.forEach(function (watch) {
    var there = L.point(watch.x * scale + watch.dx, watch.y * scale + watch.dy).subtract(corner);
    closer(there.distanceTo(point), watch.entry.index, layers.watches.on);
  });
  bearings.forEach(function (each) { closer(farFrom(point, each.line), each.entry.index, layers.bearings.on); });
  ranges.forEach(function (each) { closer(farFrom(point, each.line.points), each.entry.index, layers.ranges.on); });
  grounds.forEach(function (each) {
    each.outlines.forEach(function (line) { closer(farFrom(point, line.points), each.entry.index, layers.ground.on); });
  });
  function closer(far, entry, on) {
    if (on && entry >= cut && far < least) { least = far; best = entry; }
  }
  return best;
}

// Pixels from a point to a line, ten added: what has a place of its own comes first.
function farFrom(point, line) {
  var scale = Math.pow(2, map.getZoom()), least = Infinity;
  var origin = map.getPixelOrigin().add(map.containerPointToLayerPoint([0, 0]));
  for (var i = 0; i + 3 < line.length; i += 2) {
    var a = L.point(line[i] * scale, line[i + 1] * scale).subtract(origin);
    var b = L.point(line[i + 2] * scale, line[i + 3] * scale).subtract(origin);
    least = Math.min(least, L.LineUtil.pointToSegmentDistance(point, a, b));
  }
  return least + 10;
}

function northNote() {
  var control = L.control({ position: "bottomright" });
  control.onAdd = function () {
    var node = make("div", "north");
    node.append(make("div", "", "True north is up"),
      make("div", "", "Magnetic " + scene.norths.declination + ", grid " + scene.norths.convergence));
    return node;
  };
  return control;
}

// What is enlarged is no finer than it was: nobody may take a blur for a map.
function detailNote() {
  var control = L.control({ position: "bottomleft" });
  control.onAdd = function () {
    var node = make("div", "north detail", "Beyond the map's detail: enlarged");
    node.setAttribute("role", "status");
    function show() { node.hidden = !layers.tiles.on || layers.tiles.absent || map.getZoom() <= finest; }
    map.on("zoomend", show);
    show();
    return node;
  };
  return control;
}

function firstView() {
  var v = scene.view;
  map.fitBounds([[v[0], v[1]], [v[2], v[3]]], { padding: [48, 48], maxZoom: 16, animate: false });
}

function drawer() {
  var handle = button("Reports and answers", "handle", function () {
    handle.setAttribute("aria-expanded", String(panel.classList.toggle("open")));
  });
  handle.setAttribute("aria-expanded", "false");
  panel.append(handle);
}

function outsideNote() {
  if (!scene.outside) { return; }
  var node = section("outside", "Outside the first view: " + scene.outside);
  node.append(make("p", "", "Far from all others. Read these squares back."),
    button("Show everything", "", function () {
      var placed = entries.filter(function (entry) { return entry.place; });
      map.fitBounds(placed.map(function (entry) { return at(entry.place); }), { padding: [48, 48] });
    }));
}

panel.replaceChildren();
drawer();
strip();
timeFlag();
chosenSection();
scene.answers.forEach(answerSection);
listeningSection();
searchSection();
outsideNote();
questionSection();
reportSection();
gridSection();
layerSection();
textChoice();
keySection();
cautionSection();
positionTool();
findTool();
measureTool();
drawTool();
timeTool();
toolsSection();
readoutStrip();

readInks();
map.createPane("land").style.zIndex = 150;
map.createPane("sheet").style.zIndex = 450;
map.createPane("base").style.zIndex = 160;
["land", "base", "sheet"].forEach(function (name) { map.getPane(name).style.pointerEvents = "none"; });
L.control.zoom({ position: "topleft" }).addTo(map);
L.control.scale({ position: "bottomleft", imperial: false, maxWidth: 160 }).addTo(map);
northNote().addTo(map);
detailNote().addTo(map);
map.invalidateSize({ animate: false });
firstView();
landSheet = new Sheet("land", drawLand).addTo(map);
if (drawnKinds.length) { baseSheet = new Sheet("base", drawDrawnMap).addTo(map); }
reportSheet = new Sheet("sheet", drawAll).addTo(map);
showTiles();
startTools();
loadHeights();
map.on("click", function (event) {
  if (pressed) { return; }
  if (takeClick([event.latlng.lat, event.latlng.lng])) { return; }
  if (held) { letGo(); }
  var index = nearest(event.containerPoint);
  if (index !== null) { choose(index, false); }
});
new ResizeObserver(function () { if (!printing) { map.invalidateSize({ animate: false }); } }).observe(map.getContainer());
requestAnimationFrame(function () {
  requestAnimationFrame(function () { performance.mark("board-painted"); });
});
