// On paper: day whatever the screen is, the map shrunk to the page, and a long page of reports.
// The map is not drawn again, for what is drawn while a page is being printed covers the tiles with white:
// what was drawn for the night is turned into inks for paper by a filter.

var MOST_PRINTED = 300, PAPER_PX = 690;
var printing = false;

function forPrint(on) {
  var root = document.documentElement, node = map.getContainer();
  printing = on;
  if (on) { forPrint.night = root.classList.contains("night"); }
  root.classList.toggle("night", !on && forPrint.night === true);
  root.classList.toggle("night-inks", on && forPrint.night === true);
  node.style.setProperty("--wide", on ? node.clientWidth + "px" : "");
  node.style.setProperty("--high", on ? node.clientHeight + "px" : "");
  node.style.setProperty("--shrink", on ? Math.min(1, PAPER_PX / node.clientWidth) : "");
  pageRows = on ? MOST_PRINTED : PAGE;
  list.first = on ? 0 : list.first;
  showPage();
}

window.addEventListener("beforeprint", function () { forPrint(true); });
window.addEventListener("afterprint", function () { forPrint(false); });
