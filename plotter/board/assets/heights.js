// Heights of the ground, read off the net that the board carries, if it carries one.

var heights = block("height-data"), heightNet = null;

// Two planes of bytes, the lower ones first, are steps in whole metres from one node to the next.
function unpackHeights(planes, count) {
  var found = new Int16Array(count), sum = 0;
  for (var i = 0; i < count; i += 1) {
    sum += planes[i] | planes[count + i] << 8;
    found[i] = sum;
  }
  return found;
}

// Metres, or null where the net does not reach or its model knows nothing.
function heightOn(net, about, lat, lon) {
  var down = (about.north - lat) / (about.north - about.south) * (about.rows - 1);
  lon += 360 * Math.round(((about.west + about.east) / 2 - lon) / 360);
  var along = (lon - about.west) / (about.east - about.west) * (about.columns - 1);
  if (!(down >= 0 && down <= about.rows - 1 && along >= 0 && along <= about.columns - 1)) { return null; }
  var i = Math.min(Math.floor(down), about.rows - 2), j = Math.min(Math.floor(along), about.columns - 2);
  var u = down - i, v = along - j, at = i * about.columns + j, below = at + about.columns;
  var corners = [net[at], net[at + 1], net[below], net[below + 1]];
  if (corners.indexOf(-32768) >= 0) { return null; }
  return (1 - u) * ((1 - v) * corners[0] + v * corners[1]) + u * ((1 - v) * corners[2] + v * corners[3]);
}

function heightWords(place) {
  var found = heightNet && heightOn(heightNet, heights, place[0], place[1]);
  return found === null ? "height unknown" : Math.round(found) + " m up";
}

function loadHeights() {
  if (!heights || typeof DecompressionStream === "undefined") { return; }
  inflated(bytesOf(heights.packed)).then(function (planes) {
    heightNet = unpackHeights(new Uint8Array(planes), heights.rows * heights.columns);
    document.body.classList.add("heights");
    showPlace();
  });
}
