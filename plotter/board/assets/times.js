// What moves: which of the stated times is shown, and the slider that chooses it.

// The time for people: the hour alone on the day of the last report.
function timeWords(at) {
  return utcClock(at) + " UTC";
}

function isLatest(answer) {
  return answer.chosen === answer.times.length - 1;
}

// Everything drawn of the answer is that of the chosen time.
function showTime(answer, number) {
  answer.chosen = number;
  Object.assign(answer, answer.times[number]);
}

function timeChoice(index, show) {
  var answer = answers[index], last = answer.times.length - 1, id = "time-" + index;
  var node = make("div", "times"), label = make("label", "", "It moves. Shown for ");
  var which = make("span", "", "one time:"), words = make("b", "at"), input = make("input"), ends = make("div", "ends");
  label.append(which, words);
  node.append(label);
  if (!last) {
    words.textContent = timeWords(answer.at);
    return node;
  }
  label.htmlFor = input.id = id;
  input.type = "range";
  input.min = "0";
  input.max = input.value = String(last);
  input.step = "1";
  function showChosen() {
    var number = Number(input.value);
    showTime(answer, number);
    words.textContent = timeWords(answer.at);
    // On a line of its own, so that the slider does not move under the finger.
    which.textContent = isLatest(answer) ? "the latest time:" : "an earlier time:";
    node.classList.toggle("past", !isLatest(answer));
    input.setAttribute("aria-valuetext", timeWords(answer.at) + (isLatest(answer) ? ", the latest" : ""));
    show(number);
  }
  input.addEventListener("input", function () {
    showChosen();
    reportSheet.redraw();
  });
  ends.append(make("span", "", timeWords(answer.times[0].at)), make("span", "", timeWords(answer.times[last].at)));
  node.append(input, ends, make("p", "quiet", "Each time is worked out from all reports, later ones too."));
  showChosen();
  return node;
}

// Where it was at the other times: a small ring with the hour.
function drawOtherTimes(pen, answer, labels) {
  answer.times.forEach(function (time, number) {
    var x = pen.x(time.x), y = pen.y(time.y);
    if (number === answer.chosen || time.sector || !pen.holds(x, y, 0)) { return; }
    drawOtherTime(pen, x, y);
    labels.push({
      text: utcClock(time.at), x: x, y: y, order: 61 + number / 100, ink: inks.computed, size: 15,
      places: [[0, -14, "center"], [0, 14, "center"]]
    });
  });
}

function drawOtherTime(pen, x, y) {
  disc(pen.ctx, x, y, 3.5);
  pen.fill(inks.paper);
  pen.stroke(inks.computed, 1.5);
}

function keepTimesKey() {
  if (!answers.some(function (answer) { return answer.times.length > 1; })) { return; }
  KEY.push(["Best point at another time", function (pen) { drawOtherTime(pen, 28, 18); }]);
}
