// The packed reports: base64 to columns of numbers, and the table of texts. Large boards are compressed,
// which takes the browser a moment: what follows waits for it.

function block(id) {
  return JSON.parse(document.getElementById(id).textContent);
}

function bytesOf(text) {
  var coded = atob(text), found = new Uint8Array(coded.length);
  for (var i = 0; i < coded.length; i += 1) { found[i] = coded.charCodeAt(i); }
  return found;
}

var NUMBERS = { 1: Int8Array, 2: Int16Array, 4: Int32Array, 8: BigInt64Array };

// Columns by name; those written as steps are added up again.
function columnsOf(described, bytes) {
  var found = {}, at = 0;
  described.forEach(function (column) {
    var width = column[1], count = column[2], end = at + width * count;
    var values = new NUMBERS[width](bytes.slice(at, end).buffer);
    if (width === 8) { values = Float64Array.from(values, Number); }
    if (column[3]) {
      var sum = 0, whole = new Float64Array(count);
      for (var i = 0; i < count; i += 1) { whole[i] = sum += values[i]; }
      values = whole;
    }
    found[column[0]] = values;
    at = end;
  });
  return found;
}

function inflated(bytes) {
  return new Response(new Blob([bytes]).stream().pipeThrough(new DecompressionStream("deflate"))).arrayBuffer();
}

// Calls `then` with { columns, texts, ofLog }: at once where nothing is compressed.
function unpackReports(block, then) {
  if (!block.packed) {
    then({ columns: columnsOf(block.columns, bytesOf(block.numbers)), texts: block.texts, ofLog: block.ofLog });
    return;
  }
  if (typeof DecompressionStream === "undefined") {
    document.getElementById("panel").textContent =
      "This browser cannot open a board of so many reports: use a newer one, or a board of fewer reports.";
    return;
  }
  Promise.all([inflated(bytesOf(block.numbers)), inflated(bytesOf(block.texts))]).then(function (parts) {
    then({
      columns: columnsOf(block.columns, new Uint8Array(parts[0])),
      texts: JSON.parse(new TextDecoder().decode(parts[1])),
      ofLog: block.ofLog
    });
  });
}
