// Drawing a signature with a finger, a pen or a mouse. What is drawn goes into the form as a small picture; an empty field
// sends nothing. Without this script the form offers paper.
"use strict";
(() => {
  function field(box) {
    const canvas = box.querySelector("canvas"), kept = box.querySelector("input[name=signature]"), form = box.closest("form");
    if (!canvas || box.dataset.ready) return;
    box.dataset.ready = "1";
    const pen = canvas.getContext("2d");
    pen.lineWidth = 5; pen.lineCap = pen.lineJoin = "round"; pen.strokeStyle = "#000";
    let at = null, way = 0;
    const place = (e) => { const r = canvas.getBoundingClientRect(); return [(e.clientX - r.left) * canvas.width / r.width, (e.clientY - r.top) * canvas.height / r.height]; };
    const wipe = () => { pen.clearRect(0, 0, canvas.width, canvas.height); way = 0; kept.value = ""; delete box.dataset.drawn; };
    canvas.addEventListener("pointerdown", (e) => { e.preventDefault(); canvas.setPointerCapture(e.pointerId); at = place(e); box.dataset.drawn = "1"; });
    canvas.addEventListener("pointermove", (e) => {
      if (!at) return;
      for (const one of e.getCoalescedEvents?.().length ? e.getCoalescedEvents() : [e]) {
        const to = place(one);
        pen.beginPath(); pen.moveTo(...at); pen.lineTo(...to); pen.stroke();
        way += Math.hypot(to[0] - at[0], to[1] - at[1]);
        at = to;
      }
    });
    const end = () => {
      at = null;
      // A drop of water is no signature.
      kept.value = way > canvas.height / 2 ? canvas.toDataURL("image/png") : "";
    };
    canvas.addEventListener("pointerup", end);
    canvas.addEventListener("pointercancel", end);
    const again = document.createElement("button");
    again.type = "button"; again.className = "plate"; again.textContent = box.dataset.wipe;
    again.addEventListener("click", wipe);
    canvas.after(again);
    const follow = () => { box.hidden = form.elements.namedItem("how").value === "paper"; };
    for (const radio of form.querySelectorAll("[name=how]")) radio.addEventListener("change", follow);
    follow();
  }
  document.addEventListener("shown", () => {
    document.querySelectorAll(".sign").forEach(field);
    for (const b of document.querySelectorAll("[data-print]")) { b.hidden = false; b.onclick = () => print(); }
  });
})();
