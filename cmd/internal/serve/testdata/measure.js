// What a page is for eyes and fingers, measured from its computed styles. It is evaluated in pages by a test.
(() => {
  const say = (node) => (node.id ? "#" + node.id : node.tagName.toLowerCase() + "." + node.className) + " “" + node.textContent.trim().slice(0, 20) + "”";
  const parse = (c) => { const n = c.match(/[\d.]+/g).map(Number); return { r: n[0], g: n[1], b: n[2], a: n[3] ?? 1 }; };
  const over = (top, under) => ({ r: top.r * top.a + under.r * (1 - top.a), g: top.g * top.a + under.g * (1 - top.a), b: top.b * top.a + under.b * (1 - top.a), a: 1 });
  const ground = (node) => {
    if (!node) return parse(matchMedia("(prefers-color-scheme: dark)").matches ? "rgb(18, 18, 18)" : "rgb(255, 255, 255)");
    const own = parse(getComputedStyle(node).backgroundColor);
    return own.a === 1 ? own : over(own, ground(node.parentElement));
  };
  // Source: WCAG 2.2, the definitions of relative luminance and contrast ratio.
  const light = ({ r, g, b }) => {
    const [R, G, B] = [r, g, b].map((v) => (v / 255 <= 0.04045 ? v / 255 / 12.92 : ((v / 255 + 0.055) / 1.055) ** 2.4));
    return 0.2126 * R + 0.7152 * G + 0.0722 * B;
  };
  const ratio = (a, b) => { const [x, y] = [light(a), light(b)].sort((p, q) => q - p); return (x + 0.05) / (y + 0.05); };
  const seen = (node) => node.checkVisibility({ visibilityProperty: true }) && !node.closest("noscript") && node.getBoundingClientRect().width > 1;

  const out = { dull: [], small: [], wide: [], texts: 0, targets: 0, known: ratio(parse("rgb(118, 118, 118)"), parse("rgb(255, 255, 255)")) };
  const words = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  for (let t = words.nextNode(); t; t = words.nextNode()) {
    const node = t.parentElement;
    if (!t.data.trim() || !seen(node) || node.closest("script, option, textarea")) continue;
    out.texts++;
    const style = getComputedStyle(node), size = parseFloat(style.fontSize), large = size >= 24 || size >= 18.66 && style.fontWeight >= 700;
    const under = ground(node), r = ratio(over(parse(style.color), under), under);
    if (r < (large ? 3 : 4.5)) out.dull.push(say(node) + " " + r.toFixed(2)); // WCAG 2.2, SC 1.4.3
  }
  for (const node of document.querySelectorAll("button, input, select, textarea")) {
    if (!seen(node)) continue;
    out.targets++;
    const box = node.getBoundingClientRect();
    if (box.width < 44 || box.height < 44) out.small.push(say(node) + " " + box.width.toFixed(1) + "×" + box.height.toFixed(1)); // WCAG 2.2, SC 2.5.5
    if (box.left < 0 || box.right > innerWidth) out.wide.push(say(node));
    const style = getComputedStyle(node);
    if (node.closest("nav") || node.closest(".chips") || style.borderStyle === "none") continue;
    const edge = ratio(parse(style.borderTopColor), ground(node.parentElement)), fill = ratio(ground(node), ground(node.parentElement));
    if (Math.max(edge, fill) < 3) out.dull.push(say(node) + " edge " + edge.toFixed(2)); // WCAG 2.2, SC 1.4.11
  }
  const most = Math.max(document.documentElement.scrollWidth, ...[...document.querySelectorAll("main, footer, header")].map((n) => n.scrollWidth));
  if (most > innerWidth) out.wide.push("the page: " + most);
  return out;
})()
