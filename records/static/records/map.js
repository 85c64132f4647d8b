// On a narrow screen a map begins with what is gravest, which is drawn last, and not at its left.
for (const box of document.querySelectorAll(".map .scroll")) {
  const gravest = [...box.querySelectorAll(".point")].at(-1);
  if (gravest && box.scrollWidth > box.clientWidth) {
    const at = gravest.getBoundingClientRect();
    const left = box.getBoundingClientRect().left;
    box.scrollLeft += at.left + at.width / 2 - left - box.clientWidth / 2;
  }
}
