// Small helps with the page's elements.
export const at = (id) => document.getElementById(id);

// make returns an element with properties, data-… and aria-… attributes among them, and children.
export function make(tag, properties = {}, ...children) {
  const node = document.createElement(tag);
  for (const [k, v] of Object.entries(properties)) {
    if (k.includes("-")) node.setAttribute(k, v);
    else node[k] = v;
  }
  node.append(...children);
  return node;
}

// key returns a button that calls f with itself when it is touched.
export function key(properties, f, ...children) {
  const button = make("button", { type: "button", ...properties }, ...children);
  button.addEventListener("click", () => f(button));
  return button;
}

// sends has a form call f with its button, and returns the form.
export function sends(form, f) {
  form.addEventListener("submit", (e) => {
    e.preventDefault();
    f(e.submitter);
  });
  return form;
}

// text writes only what is new, so that nothing is read out twice.
export function text(node, value) {
  if (node.textContent !== String(value)) node.textContent = value;
}

// chips returns a choice among values by touch, of one or, with the type checkbox, of several; say puts a value into words.
export const chips = (name, title, values, chosen, say = String, type = "radio") => make("fieldset", { className: "chips" }, make("legend", {}, title),
  ...values.map((v) => make("label", {}, make("input", { type, name, value: v, checked: [chosen].flat().includes(v) }), say(v))));

// panel fills the place of what is asked for a moment: its name, the way back, and what there is to touch. It returns the
// name, for the keyboard's focus; done is called when it is left.
export function panel(title, done, ...parts) {
  const name = make("h2", { id: "pick-name", tabIndex: -1 }, title);
  at("pick").replaceChildren(make("div", { className: "top" }, name, key({}, done, "Back")), ...parts);
  return name;
}
