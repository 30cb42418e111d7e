// A position that is typed or pasted is found and marked; of several meanings none is chosen unasked.

var foundHere = [], foundChosen = -1;

function findTool() {
  var body = toolBody("find", "Go to", { open: function () { input.focus(); } });
  var form = make("form"), label = make("label", "field", "Go to a position "), input = make("input");
  var told = make("p"), list = make("ol", "rows");
  input.type = "text";
  input.autocomplete = "off";
  input.spellcheck = false;
  input.setAttribute("autocapitalize", "characters");
  told.setAttribute("role", "status");
  label.append(input);
  var find = button("Find", "", function () {});
  find.type = "submit";
  form.className = "find";
  form.append(label, find);
  form.addEventListener("submit", function (event) {
    event.preventDefault();
    foundHere = [];
    foundChosen = -1;
    try {
      foundHere = meaningsOf(input.value);
      told.textContent = foundHere.length > 1 ? "This has " + foundHere.length + " meanings. Ask which, then choose." : "";
    } catch (error) {
      told.textContent = plain(error.message);
    }
    list.replaceChildren.apply(list, foundHere.map(function (each, index) { return foundRow(each, index, list); }));
    if (foundHere.length === 1) { chooseFound(0, list); } else { showFound(foundHere); }
    redrawTools();
  });
  body.append(form, told, list, make("p", "quiet", EXPECTED));
}

function foundRow(found, index, list) {
  var item = make("li"), row = button("", "row", function () { chooseFound(index, list); });
  row.append(make("span", "who", found.format + ", " + sizeWords(found.size)),
    make("span", "words", latlonWords(found.centre, "dd", 5)));
  found.assumed.forEach(function (why) { row.append(make("span", "reason", "Assumed: " + why + ".")); });
  item.append(row);
  return item;
}

// A side in words, cut to three figures.
function sizeWords(metres) {
  var km = metres >= 1000, value = km ? metres / 1000 : metres;
  return "a square of " + Number(value.toPrecision(3)) + (km ? " km" : " m");
}

function chooseFound(index, list) {
  foundChosen = index;
  Array.from(list.children).forEach(function (item, i) {
    item.firstChild.toggleAttribute("aria-current", i === index);
  });
  showFound([foundHere[index]]);
  hold([foundHere[index].centre[0], lonBeside(foundHere[index]), foundHere[index].size]);
}

// Corners beside the middle, so that a square across 180 degrees stays one square.
function lonBeside(found) {
  return found.centre[1] + 360 * Math.round((map.getCenter().lng - found.centre[1]) / 360);
}

function besideMiddle(found) {
  var lon = lonBeside(found);
  return found.corners.map(function (corner) {
    return [corner[0], corner[1] + 360 * Math.round((lon - corner[1]) / 360)];
  });
}

function showFound(some) {
  var corners = some.reduce(function (sum, found) { return sum.concat(besideMiddle(found)); }, []);
  if (corners.length) { map.fitBounds(corners, { padding: [60, 60], maxZoom: 17, animate: false }); }
}

function drawFound(pen, labels) {
  foundHere.forEach(function (found, index) {
    var ring = onPlane(besideMiddle(found)), bounds = box(ring), sure = index === foundChosen;
    var x = pen.x((bounds[0] + bounds[2]) / 2), y = pen.y((bounds[1] + bounds[3]) / 2);
    pen.ctx.beginPath();
    if ((bounds[2] - bounds[0]) * pen.scale > SQUARE_PX) { pen.trace(ring, true); } else { disc(pen.ctx, x, y, 7); }
    pen.stroke(inks.halo, 5);
    pen.stroke(inks.computed, 2, sure ? [] : [6, 4]);
    labels.push({
      text: foundHere.length > 1 ? "Meaning " + (index + 1) + (sure ? "" : " ?") : "Found",
      x: x, y: y, order: 1, size: 15, bold: true, ink: inks.computed, places: around(16)
    });
  });
}
