// The keys a tablet has no keyboard for, the size of the letters, files to keep, and the end of a session.
"use strict";
const KEYS = {
  esc: "\x1b", tab: "\t", enter: "\r", save: "\x13", help: "?",
  up: "\x1b[A", down: "\x1b[B", right: "\x1b[C", left: "\x1b[D",
};
let line = null;
const Socket = window.WebSocket;
window.WebSocket = class extends Socket {
  constructor(...given) {
    super(...given);
    line = this;
    this.addEventListener("open", () => document.querySelector(".xterm-helper-textarea").focus());
  }
  // The terminal speaks of its focus whether there is somebody to tell or not.
  send(data) {
    if (this.readyState === Socket.OPEN) super.send(data);
  }
};
// The terminal opens a window for a file to fetch: a link does it without one. It goes to no other address.
window.open = (address) => {
  const wanted = new URL(address, window.location.href);
  if (wanted.origin !== window.location.origin || !wanted.pathname.startsWith("/download/")) return null;
  const link = document.createElement("a");
  link.href = wanted.href;
  link.download = "";
  link.click();
  return null;
};
function size() {
  return Number(document.getElementById("terminal").dataset.fontSize);
}
function resized(by) {
  const wanted = new URL(window.location.href);
  wanted.searchParams.set("fontsize", Math.min(Math.max(size() + by, 10), 40));
  window.location.replace(wanted);
}
const begin = window.onload;
window.onload = async (event) => {
  document.querySelectorAll("nav button").forEach((button) => {
    // Pressed without taking the keyboard away from the terminal.
    button.addEventListener("pointerdown", (press) => press.preventDefault());
    button.addEventListener("click", () => {
      if (button.dataset.size) return resized(Number(button.dataset.size));
      if (line) line.send(JSON.stringify(["stdin", KEYS[button.dataset.keys]]));
    });
  });
  document.getElementById("again").addEventListener("click", () => window.location.reload());
  // The terminal measures its letters once, so they must be there before it opens.
  await Promise.all(["", "bold "].map((weight) => document.fonts.load(`${weight}${size()}px "Roboto Mono"`)));
  begin(event);
};
