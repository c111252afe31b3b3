// The view in 3D: turns, pulls the parts apart, steps through the order. Bundled with three.js by `sh .ci/viewer`.
import { Box3, Color, DirectionalLight, HemisphereLight, MathUtils, PerspectiveCamera, Scene, Vector3, WebGLRenderer } from 'three';
import { OrbitControls } from 'three/examples/jsm/controls/OrbitControls.js';
import { GLTFLoader } from 'three/examples/jsm/loaders/GLTFLoader.js';

const TURN = MathUtils.degToRad(10); // of one press of an arrow key
const APART = 1.4; // how far parts go, in their distances from the middle
let close = () => {};

function element(name, properties, ...inside) {
  const made = Object.assign(document.createElement(name), properties);
  made.append(...inside);
  return made;
}

// `model`: {href, name, steps: [{title, parts: ["A Foot", ...]}]}; `stage` is the element that is filled; `words` are those of
// the page's language, with {places} to fill in
window.foamwrightView = (stage, model, words) => {
  const say = (sentence, values) => sentence.replace(/\{(\w+)\}/g, (_, name) => values[name]);
  close();
  const told = element('output', { textContent: words.loading });
  const canvas = element('canvas', { tabIndex: 0 });
  canvas.setAttribute('role', 'img');
  canvas.setAttribute('aria-label', say(words.canvas, { name: model.name }));
  stage.replaceChildren(told);
  let renderer;
  try {
    renderer = new WebGLRenderer({ canvas, antialias: true, alpha: true });
  } catch {
    told.textContent = words.no_drawing;
    return;
  }
  let gone = false;
  close = () => { gone = true; renderer.dispose(); };
  new GLTFLoader().load(model.href, (loaded) => { if (!gone) begin(loaded.scene); }, undefined, () => {
    told.textContent = location.protocol === 'file:'
      ? words.no_server
      : words.no_model;
  });

  function begin(prop) {
    const scene = new Scene();
    scene.add(prop, new HemisphereLight(new Color('#ffffff'), new Color('#8a8578'), 2.2));
    const lamp = new DirectionalLight(new Color('#ffffff'), 1.6);
    lamp.position.set(1, 2, 1.5);
    const camera = new PerspectiveCamera(35, 1, 0.001, 1000);
    camera.add(lamp);
    scene.add(camera);
    const whole = new Box3().setFromObject(prop);
    const middle = whole.getCenter(new Vector3());
    const reach = whole.getSize(new Vector3()).length();
    const pieces = [];
    prop.updateMatrixWorld(true);
    prop.traverse((node) => {
      if (!node.isMesh) return;
      const named = node.userData.name || node.parent.userData.name || node.name;
      const away = new Box3().setFromObject(node).getCenter(new Vector3()).sub(middle);
      node.matrixAutoUpdate = true;
      node.matrix.decompose(node.position, node.quaternion, node.scale);
      // parts in the middle would not move: they go up by a little
      if (away.length() < 0.02 * reach) away.set(0, 0.25 * reach, 0);
      pieces.push({ node, name: named.replace(/ \(\d+\)$/, ''), home: node.position.clone(), away, material: node.material });
    });
    const isSeen = new Map();
    model.steps.forEach((step, number) => step.parts.forEach((part) => isSeen.set(part, Math.min(number, isSeen.get(part) ?? number))));
    const steps = model.steps.map((step, number) => ({ ...step, number })).filter(
      (step) => pieces.some((piece) => isSeen.get(piece.name) === step.number));
    let at = steps.length; // steps.length: all of it

    const apart = element('input', { type: 'range', min: '0', max: '100', value: '0', id: 'apart' });
    const back = element('button', { type: 'button', textContent: words.back });
    const on = element('button', { type: 'button', textContent: words.next });
    const all = element('button', { type: 'button', textContent: words.all });
    const label = element('label', { htmlFor: 'apart', textContent: words.apart });
    const row = (...inside) => element('div', { className: 'row' }, ...inside);
    stage.replaceChildren(canvas, told, row(back, on, all), row(label, apart));

    const controls = new OrbitControls(camera, canvas);
    controls.target.copy(middle);
    controls.enablePan = false;
    controls.enableZoom = true;
    camera.position.copy(middle).add(new Vector3(0.9, 0.55, 1).normalize().multiplyScalar(1.9 * reach));
    controls.minDistance = 0.3 * reach;
    controls.maxDistance = 6 * reach;

    const draw = () => {
      if (gone || !canvas.clientWidth) return;
      const density = Math.min(devicePixelRatio, 2);
      renderer.setPixelRatio(density);
      renderer.setSize(canvas.clientWidth, canvas.clientHeight, false);
      camera.aspect = canvas.clientWidth / canvas.clientHeight;
      camera.updateProjectionMatrix();
      renderer.render(scene, camera);
    };
    const renew = () => {
      const share = APART * apart.value / 100;
      camera.zoom = 1 / (1 + 0.8 * share); // so that it stays in the picture
      for (const piece of pieces) {
        const first = isSeen.get(piece.name) ?? 0;
        const now = at < steps.length ? steps[at].number : Infinity;
        piece.node.visible = first <= now;
        if (first === now) {
          if (piece.node.material === piece.material) {
            piece.node.material = piece.material.clone();
            piece.node.material.emissive = new Color('#c2410c');
            piece.node.material.emissiveIntensity = 0.55;
          }
        } else piece.node.material = piece.material;
        piece.node.position.copy(piece.home).addScaledVector(piece.away, share);
      }
      back.disabled = at === 0;
      on.disabled = at >= steps.length;
      told.textContent = at < steps.length
        ? say(words.step, { n: steps[at].number + 1, of: model.steps.length, title: steps[at].title })
        : words.all;
      draw();
    };
    back.onclick = () => { at = Math.max(0, at - 1); renew(); };
    on.onclick = () => { at = Math.min(steps.length, at + 1); renew(); };
    all.onclick = () => { at = steps.length; renew(); };
    apart.oninput = renew;
    controls.addEventListener('change', draw);
    canvas.addEventListener('keydown', (event) => {
      const offset = camera.position.clone().sub(middle);
      const up = new Vector3(0, 1, 0);
      const aside = new Vector3().crossVectors(up, offset).normalize();
      const moves = {
        ArrowLeft: () => offset.applyAxisAngle(up, -TURN),
        ArrowRight: () => offset.applyAxisAngle(up, TURN),
        ArrowUp: () => offset.applyAxisAngle(aside, -TURN),
        ArrowDown: () => offset.applyAxisAngle(aside, TURN),
        '+': () => offset.multiplyScalar(0.87),
        '-': () => offset.multiplyScalar(1.15),
      };
      if (!moves[event.key]) return;
      event.preventDefault();
      moves[event.key]();
      camera.position.copy(middle).add(offset);
      controls.update();
      draw();
    });
    new ResizeObserver(draw).observe(canvas);
    controls.update();
    renew();
    stage.dataset.ready = String(pieces.length);
  }
};
