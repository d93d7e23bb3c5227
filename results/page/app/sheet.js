// Prints one sheet without the rest of the page.
function printSheet(sheet) {
  const shown = [sheet, sheet.closest(".entry")], { classList } = document.body;
  shown.forEach((part) => part.classList.add("printed"));
  classList.add("one-sheet");
  window.addEventListener("afterprint", () => {
    classList.remove("one-sheet");
    shown.forEach((part) => part.classList.remove("printed"));
  }, { once: true });
  window.print();
}

document.addEventListener("click", (event) => {
  const button = event.target.closest(".print-sheet");
  if (button) printSheet(button.closest(".paper"));
});
