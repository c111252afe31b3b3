"use strict";
const at = id => document.getElementById(id);
const show = (id, words) => { at(id).textContent = words; at(id).hidden = !words; };
let drawn = -1;

function list(element, lines) {
  element.replaceChildren(...lines.map(line => {
    const item = document.createElement("li");
    if (line.href) {
      const link = document.createElement("a");
      link.href = line.href;
      link.textContent = line.text;
      item.append(link);
    } else {
      item.textContent = line.text;
    }
    return item;
  }));
}

async function refresh() {
  const told = await (await fetch("state", {cache: "no-store"})).json();
  document.title = (told.error ? "! " : "") + told.name;
  at("name").textContent = told.name;
  at("busy").textContent = [told.busy, told.pack].filter(Boolean).join(" · ");
  show("error", told.error);
  at("old").hidden = !told.old;
  at("picture").hidden = !told.pictures.includes("look.svg");
  at("model").hidden = !told.pictures.includes("look.glb");
  if (told.drawn !== drawn && told.pictures.includes("look.svg")) {
    drawn = told.drawn;
    at("picture").src = "look/look.svg?" + drawn;
  }
  const look = told.look;
  at("size").textContent = look.extent
    ? `${look.pieces} pieces, ${look.extent.map(x => Math.round(x)).join(" × ")} mm` : "";
  const problems = [
    ...(look.overlaps || []).filter(pair => !pair.declared).map(pair => ({text:
      `${pair.a.part} (${pair.a.copy}) and ${pair.b.part} (${pair.b.copy}) share space, ` +
      `${pair.depth.toFixed(1)} mm deep, near (${pair.at.map(x => Math.round(x)).join(", ")})`})),
    ...(look.failures || []).map(failure => ({text: failure.reason})),
  ];
  at("problems").hidden = !problems.length;
  list(at("problems").querySelector("ul"), problems);
  at("made").hidden = !told.folder;
  list(at("pack"), ["booklet.html", "booklet.pdf", "templates.pdf", "sheets.pdf", "proof.pdf"]
    .map(name => ({text: name, href: "pack/" + name})));
}

const events = new EventSource("events");
events.onmessage = () => refresh().catch(() => {});
events.onerror = () => { at("busy").textContent = "foamwright watch has ended, or cannot be reached"; };
