// How large the words are, in the column and on the map.

var TEXT_SIZES = [["Normal", "", 1], ["Large", "large", 1.2], ["Largest", "largest", 1.4]];
var textScale = 1;

// Stands below the layers: both are about how the board is looked at.
function textChoice() {
  var node = document.getElementById("layers"), choices = make("div", "choices"), root = document.documentElement;
  var buttons = TEXT_SIZES.map(function (size) {
    return button(size[0], "", function () { setSize(size); });
  });
  function setSize(chosen) {
    textScale = chosen[2];
    TEXT_SIZES.forEach(function (size, i) {
      if (size[1]) { root.classList.toggle(size[1], size === chosen); }
      buttons[i].setAttribute("aria-pressed", String(size === chosen));
    });
    redrawAll();
  }
  choices.append.apply(choices, buttons);
  node.append(make("h3", "", "Text size"), choices);
  buttons[0].setAttribute("aria-pressed", "true");
}
