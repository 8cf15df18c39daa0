/* Nothing typed at the bench is left behind: leaving the page waits until what was changed has been saved. */
(() => {
  "use strict";

  const PATIENCE_MS = 5000;
  const waiting = new Map(); // the id of each row that is being saved, with how many changes of it
  let goal = null; // what to do once nothing is being saved any more

  const isIdle = () => waiting.size === 0;

  const goOn = () => {
    if (!goal || !isIdle()) return;
    const act = goal;
    goal = null;
    act();
  };

  const later = (event, act) => {
    event.preventDefault();
    goal = act;
    // A row that was replaced meanwhile never answers.
    window.setTimeout(() => {
      waiting.clear();
      goOn();
    }, PATIENCE_MS);
  };

  document.addEventListener("change", (event) => {
    const row = event.target.closest("[hx-trigger^='change']");
    if (row && row.id) waiting.set(row.id, (waiting.get(row.id) || 0) + 1);
  });

  document.addEventListener("htmx:afterRequest", (event) => {
    const { requestConfig, xhr } = event.detail;
    // A row that its answer has replaced is no longer on the page; the event then comes from around it.
    const { elt } = requestConfig;
    const left = (waiting.get(elt.id) || 0) - 1;
    if (left > 0) waiting.set(elt.id, left);
    else waiting.delete(elt.id);
    // What was refused, or did not get through, is to be seen first.
    if (!xhr || xhr.status === 0 || xhr.status >= 400) goal = null;
    goOn();
  });

  document.addEventListener("click", (event) => {
    const link = event.target.closest("a[href]");
    const opensElsewhere = event.metaKey || event.ctrlKey || event.shiftKey || event.button !== 0;
    if (!link || isIdle() || opensElsewhere || link.getAttribute("href").startsWith("#")) return;
    later(event, () => window.location.assign(link.href));
  });

  document.addEventListener("submit", (event) => {
    const form = event.target;
    if (isIdle() || form.hasAttribute("hx-post")) return;
    const { submitter } = event;
    later(event, () => form.requestSubmit(submitter));
  });

  window.addEventListener("beforeunload", (event) => {
    if (!isIdle()) event.preventDefault();
  });
})();
