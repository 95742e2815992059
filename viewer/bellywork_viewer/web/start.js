// Modules that a page carries in itself become addresses that they can import each other by.
const urls = {};
for (const part of document.querySelectorAll("script[data-module]")) {
  const text = part.textContent.replace(/(from\s*)(["'])([^"']+)\2/g, (all, word, quote, name) => urls[name] ? word + quote + urls[name] + quote : all);
  urls[part.dataset.module] = URL.createObjectURL(new Blob([text], { type: "text/javascript" }));
}
import(urls["./page.js"]).catch((error) => {
  const note = document.getElementById("note");
  if (!note.textContent) note.textContent = "This browser is too old for this page; any browser of the last years shows it.";
  throw error;
});
