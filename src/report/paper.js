// Paragraphs that can be copied.

function toolUpTexts() {
  for (const box of document.querySelectorAll("main [data-copy]")) {
    const bar = document.createElement("p");
    bar.className = "tools";
    const text = () => [...box.querySelectorAll("p")].map((one) => one.textContent.trim()).join("\n\n");
    bar.append(...actionButton(box.dataset.copy, async () =>
      (await copyText(text())) ? "Copied." : "The browser does not allow it."));
    box.before(bar);
  }
}
