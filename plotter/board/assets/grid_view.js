// What a grid shows in a view: lines as fine as the zoom leaves room for, their figures as topographic maps
// have them, the names of squares and where these may stand.

var LEAST_GAP_PX = 46, LEAST_GRATICULE_PX = 110;
var GRID_SPACINGS = [100000, 10000, 1000, 100];
var RAISED = "⁰¹²³⁴⁵⁶⁷⁸⁹";

// Everything of the chosen grid in a view [south, west, north, east], a pixel so many metres wide.
function gridOfView(choice, view, pixel) {
  var found = { spacing: null, words: "", lines: [], edges: [], names: [] };
  if (choice === "utm") { utmOfView(found, view, pixel); }
  if (choice === "maidenhead") { maidenheadOfView(found, view, pixel); }
  if (choice === "graticule") { graticuleOfView(found, view, pixel); }
  return found;
}

function utmOfView(found, view, pixel) {
  var cells = zoneCells(view), fine = GRID_SPACINGS.filter(function (m) { return m / pixel >= LEAST_GAP_PX; }).pop();
  found.edges = zoneEdges(cells, view);
  found.spacing = fine || null;
  found.words = fine ? "Lines " + unitWords(fine) + " apart." : "Grid zones; lines of the grid come closer in.";
  cells.forEach(function (cell) {
    if (fine) { found.lines = found.lines.concat(linesOfCell(cell, fine, pixel)); }
    if (fine) { found.names = found.names.concat(squareNames(cell, fine)); }
    if (!fine || fine === SQUARE_M) { found.names.push(nameOfBox(cell.name, cell.box, fine ? 21 : 15)); }
  });
  found.lines.forEach(function (line) {
    line.bold = fine < SQUARE_M && Math.round(line.value / fine) % 10 === 0;
    line.label = gridFigures(line, fine);
  });
}

// Large figures are those of the reference, raised ones come before them, as on topographic maps.
function gridFigures(line, spacing) {
  var units = Math.round(line.value / spacing), ten = SQUARE_M / spacing, whole = Math.floor(units / ten);
  // Near a pole no edge of the map says which of the two it is.
  var letter = line.cell.zone ? "" : line.easting ? " E" : " N";
  if (ten === 1) { return units * 100 + " km" + letter; }
  var raised = String(whole).replace(/\d/g, function (figure) { return RAISED[figure]; });
  return raised + String(units % ten).padStart(String(ten).length - 1, "0") + letter;
}

function squareNames(cell, spacing) {
  return squaresOfCell(cell).map(function (square) {
    return { text: (spacing < SQUARE_M ? cell.name + " " : "") + square.text, places: square.places, size: 17 };
  });
}

function nameOfBox(text, box, size) {
  return {
    text: text, box: box, size: size,
    places: SPOTS.map(function (spot) {
      return [box[0] + spot[1] * (box[2] - box[0]), box[1] + spot[0] * (box[3] - box[1])];
    })
  };
}

function heightOfDegree() { return Math.PI * EARTH.a / 180; }

function maidenheadOfView(found, view, pixel) {
  var level = LOCATOR_STEPS.length - 1;
  while (level > 0 && LOCATOR_STEPS[level] * heightOfDegree() / pixel < LEAST_GAP_PX) { level -= 1; }
  var step = found.spacing = LOCATOR_STEPS[level];
  found.words = ["Fields", "Squares", "Subsquares", "Extended squares", "Extended subsquares"][level] + ".";
  found.lines = degreeLines(view, step, 2 * step);
  found.lines.forEach(function (line) {
    var whole = level ? LOCATOR_STEPS[level - 1] * (line.easting ? 2 : 1) : 0;
    line.bold = level > 0 && Math.abs(line.value / whole - Math.round(line.value / whole)) < 1e-6;
  });
  locatorsIn(view, level).forEach(function (each) {
    // The whole locator where its square has room for it, else the last two characters beside the larger one's name.
    var roomy = 2 * step * heightOfDegree() * Math.cos((each.box[0] + each.box[2]) / 2 * DEGREE) / pixel > 34 + 24 * level;
    found.names.push(nameOfBox(roomy ? each.text : each.text.slice(-2), each.box, roomy ? 17 : 15));
    found.short = found.short || !roomy;
  });
  if (level && found.short) {
    locatorsIn(view, level - 1).forEach(function (each) { found.names.push(nameOfBox(each.text, each.box, 21)); });
  }
}

function graticuleOfView(found, view, pixel) {
  var fitting = GRATICULE_SECONDS.filter(function (s) { return s / 3600 * heightOfDegree() / pixel >= LEAST_GRATICULE_PX; });
  var seconds = fitting.length ? fitting[fitting.length - 1] : GRATICULE_SECONDS[0];
  found.spacing = seconds / 3600;
  found.lines = degreeLines(view, seconds / 3600, seconds / 3600);
  found.words = "Lines " + (seconds >= 3600 ? seconds / 3600 + "°" : seconds >= 60 ? seconds / 60 + "′" : seconds + "″") + " apart.";
  found.lines.forEach(function (line) { line.label = graticuleWords(line, seconds); });
}
