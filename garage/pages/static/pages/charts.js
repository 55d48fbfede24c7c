"use strict";

// Draws each chart of the page from the specification that stands beside it. Colours are CSS
// variables, so light, dark and paper need no second drawing. Without this script the table of
// numbers under each chart says the same.
(function () {
  async function draw(place) {
    const specification = JSON.parse(document.getElementById(place.dataset.chart).textContent);
    await window.vegaEmbed(place, specification, {
      mode: "vega-lite",
      ast: true, // no code is made from text, which the content security policy forbids
      renderer: "svg",
      defaultStyle: false,
      tooltip: false,
      actions: false,
    });
    // The place itself carries the text alternative; the drawing's own parts have no names.
    place.querySelector("svg").setAttribute("aria-hidden", "true");
    place.dataset.drawn = "yes";
  }

  document.querySelectorAll("[data-chart]").forEach(function (place) {
    draw(place).catch(function (error) {
      place.dataset.drawn = "no";
      console.error("chart not drawn: " + place.dataset.chart, error);
    });
  });
})();
