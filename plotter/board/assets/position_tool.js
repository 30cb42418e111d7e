// The place in hand in every format, to copy, and from where the way to it is told.

function copyRow(name, words) {
  var value = make("dd");
  rows[name] = make("span", "reference");
  var copy = button("Copy", "small", function () { 
    copyText(formatsOf(placeInHand().at)[name].join(name === "mgrs" ? "" : " "), rows[name]);
    copy.textContent = "Copied";
  });
  copy.setAttribute("aria-label", "Copy this place in " + words);
  value.append(rows[name], copy);
  return [make("dt", "", words), value];
}

// A reported place is known as finely as its square is wide.
function placeOf(mark) {
  var lat = mark.entry.place[0] / 1e6;
  return [lat, mark.entry.place[1] / 1e6, mark.wide / 256 * 2 * Math.PI * EARTH.a * Math.cos(lat * DEGREE)];
}

function stationSelect(chosen) {
  var label = make("label", "field", "Distance and bearing from "), select = make("select");
  var found = latestMarks;
  select.append(new Option("nobody", ""));
  [["s", "Stations"], ["p", "Places"], ["t", "Subjects"]].forEach(function (role) {
    var group = make("optgroup");
    group.label = role[1];
    found.forEach(function (mark, index) {
      if (mark.role === role[0]) { group.append(new Option(shortened(mark.name, 40), String(index))); }
    });
    if (group.children.length) { select.append(group); }
  });
  select.addEventListener("change", function () {
    chosen(select.value ? placeOf(found[Number(select.value)]) : null);
  });
  label.append(select);
  return label;
}

function positionTool() {
  var body = toolBody("position", "Position", {}), list = make("dl", "formats");
  [
    ["latlon", "Degrees"], ["minutes", "Degrees, minutes"], ["seconds", "Degrees, minutes, seconds"],
    ["mgrs", "MGRS"], ["utm", "UTM"], ["locator", "Maidenhead"]
  ].forEach(function (pair) { list.append.apply(list, copyRow(pair[0], pair[1])); });
  cells.fine = make("p", "quiet");
  cells.ground = make("p", "quiet");
  cells.told = make("span", "far");
  cells.toldWay = make("span");
  cells.letGo = button("Let go", "", letGo);
  var hands = make("div", "choices"), told = make("p", "told");
  hands.append(button("Hold this place", "", function () { hold(placeInHand().at); }), cells.letGo);
  told.append(cells.told, " ", cells.toldWay);
  body.append(cells.fine, list, cells.ground, stationSelect(function (place) {
    from = place;
    document.getElementById("readout").classList.toggle("from", place !== null);
    showPlace();
  }), told, hands, make("p", "quiet", "A long press or a right click on the map holds that place. The arrow keys move the map; then its middle counts."));
}
