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

// text writes only what is new, so that nothing is read out twice.
export function text(node, value) {
  if (node.textContent !== String(value)) node.textContent = value;
}

// chips returns a choice of one value by touch; say puts a value into words.
export const chips = (name, title, values, value, say = String) => make("fieldset", { className: "chips" }, make("legend", {}, title),
  ...values.map((v) => make("label", {}, make("input", { type: "radio", name, value: v, checked: v === value }), say(v))));
