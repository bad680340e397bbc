// The pairing page: it spends a code and is a desk from then on. The code comes in the address's fragment, which no browser
// sends to a server, and goes from there at once; the token comes as a cookie that no script can read.
const form = document.getElementById("pair"), why = document.getElementById("why");
const at = (name) => form.elements.namedItem(name);

// scan takes the code out of the address: of the first QR, and of another while this page is open.
function scan() {
  const code = location.hash.slice(1);
  if (code) {
    history.replaceState(null, "", location.pathname);
    at("code").value = decode(code).slice(0, 12);
    why.textContent = "";
  }
  (code ? at("name") : at("code")).focus();
}
addEventListener("hashchange", scan);
scan();
if (matchMedia("(min-width: 700px) and (min-height: 700px)").matches) at("name").value = "tablet";

form.addEventListener("submit", async (e) => {
  e.preventDefault();
  const button = form.querySelector("button");
  button.disabled = true;
  why.textContent = "";
  try {
    const answer = await fetch("/pair", {
      method: "POST",
      headers: { "Content-Type": "application/json" },
      body: JSON.stringify({ code: at("code").value.trim(), name: at("name").value.trim() }),
    });
    if (answer.ok) return location.replace("/desk");
    why.textContent = sentence(await answer.text());
    at("code").select();
  } catch {
    why.textContent = "The host does not answer. Is this device in the gym’s network?";
  }
  button.disabled = false;
});

function decode(text) {
  try {
    return decodeURIComponent(text);
  } catch {
    return text;
  }
}

// sentence is what a refusal says: JSON with a message, or plain text.
function sentence(text) {
  try {
    text = JSON.parse(text).message;
  } catch { /* the guard answers in plain text */ }
  return text.slice(0, 1).toUpperCase() + text.slice(1) + ".";
}
