/* Small helps on top of pages that work without them. */
(() => {
  "use strict";

  // A swapped-in error summary, or whatever asks for it, takes focus as it would after a full page load.
  document.addEventListener("htmx:afterSettle", (event) => {
    const element = event.detail.elt;
    const wanted = element.matches("[data-focus]") ? element : element.querySelector("[data-focus]");
    if (wanted) wanted.focus();
  });

  const say = (sentence) => {
    const region = document.getElementById("messages");
    if (!region || !sentence) return;
    const notice = document.createElement("div");
    notice.className = "notice danger";
    const text = document.createElement("p");
    text.textContent = sentence;
    notice.append(text);
    region.replaceChildren(notice);
    region.scrollIntoView({ block: "nearest" });
  };

  const words = document.body.dataset;
  for (const name of ["htmx:sendError", "htmx:timeout"]) {
    document.addEventListener(name, () => say(words.notSent));
  }
  document.addEventListener("htmx:responseError", (event) => {
    say(event.detail.xhr.status >= 500 ? words.notSent : words.notAllowed);
  });

  for (const button of document.querySelectorAll("[data-print]")) {
    button.hidden = false;
    button.addEventListener("click", () => window.print());
  }

  // Copying needs a secure page; where the browser refuses, the text can still be selected by hand.
  for (const button of document.querySelectorAll("[data-copy]")) {
    const source = document.querySelector(button.dataset.copy);
    if (!source || !navigator.clipboard) continue;
    button.hidden = false;
    button.addEventListener("click", async () => {
      await navigator.clipboard.writeText(source.value || source.textContent.trim());
      if (button.dataset.done) button.textContent = button.dataset.done;
    });
  }
})();
