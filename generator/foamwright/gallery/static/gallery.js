// What works without it too: filters (style sheets alone), every download, and the form, whose command can be edited by hand.
'use strict';
{
  const words = JSON.parse(document.getElementById('words').textContent);
  const search = document.getElementById('search');
  const count = document.getElementById('count');
  if (search && count) {
    const cards = [...document.querySelectorAll('.card')].map((card) => ({ card, words: card.textContent.toLowerCase() }));
    const form = search.form;
    search.closest('p').hidden = false;
    const renew = () => {
      const wanted = search.value.toLowerCase().split(/\s+/).filter(Boolean);
      const classes = [...form.querySelectorAll('input[type=radio]:checked')]
        .map((radio) => radio.id).filter((id) => !id.endsWith('-any')).map((id) => 'in-' + id);
      let shown = 0;
      for (const { card, words } of cards) {
        card.hidden = !wanted.every((word) => words.includes(word));
        if (!card.hidden && classes.every((name) => card.classList.contains(name))) shown += 1;
      }
      count.textContent = words.designs.replace('{n}', shown);
      document.getElementById('none').hidden = shown > 0;
    };
    form.addEventListener('input', renew);
    form.addEventListener('reset', () => setTimeout(renew));
    form.addEventListener('submit', (event) => event.preventDefault());
    renew();
  }

  const fit = document.getElementById('fit');
  if (fit) {
    const command = document.getElementById('command');
    const fields = [...fit.querySelectorAll('input[type=number]')];
    const renew = () => {
      const told = fields.filter((field) => field.value !== '' && Number.isFinite(Number(field.value)));
      command.textContent = [fit.dataset.command,
        ...told.map((field) => `--measure ${field.name}=${Number(field.value)}${field.dataset.unit}`)].join(' ');
    };
    fit.addEventListener('input', renew);
    if (!fit.hasAttribute('action')) fit.addEventListener('submit', (event) => event.preventDefault());
    renew();
  }

  const view = document.getElementById('view');
  if (view) {
    view.querySelector('.noscript').hidden = true;
    view.querySelector('.controls').hidden = false;
    const models = JSON.parse(document.getElementById('models').textContent);
    const stage = document.getElementById('stage');
    const load = document.getElementById('load');
    const chosen = document.getElementById('model');
    const show = () => {
      stage.hidden = false;
      window.foamwrightView(stage, models[Number(chosen.value)], words);
    };
    load.addEventListener('click', () => {
      if (window.foamwrightView) { show(); return; }
      load.disabled = true;
      const script = document.createElement('script');
      script.src = view.dataset.viewer;
      script.onload = () => { load.disabled = false; show(); };
      script.onerror = () => { load.disabled = false; stage.hidden = false; stage.textContent = words.no_view; };
      document.head.append(script);
    });
    chosen.addEventListener('change', () => { if (window.foamwrightView && !stage.hidden) show(); });
  }
}
