// The pages work without this. It says that a form is being worked on, keeps it from being sent twice, and takes the reader to what is wrong.
"use strict";

for (const form of document.querySelectorAll("form[method=post]")) {
  form.addEventListener("submit", (event) => {
    if (form.dataset.sent) {
      event.preventDefault();
      return;
    }
    form.dataset.sent = "yes";
    const button = event.submitter;
    const busy = form.querySelector("[data-busy]");
    if (busy) busy.hidden = false;
    if (button) button.setAttribute("aria-disabled", "true");
  });
}

// A page that comes back from the browser's memory may be sent again.
window.addEventListener("pageshow", (event) => {
  if (!event.persisted) return;
  for (const form of document.querySelectorAll("form[data-sent]")) {
    delete form.dataset.sent;
    for (const busy of form.querySelectorAll("[data-busy]")) busy.hidden = true;
    for (const button of form.querySelectorAll("[aria-disabled]")) button.removeAttribute("aria-disabled");
  }
});

const problems = document.getElementById("problems");
if (problems) problems.focus();
