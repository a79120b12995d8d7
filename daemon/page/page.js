// What the page can do without this file it does without it. This keeps what was typed while the hub is away and sends it
// later, once, and lets a tap on the drawing choose a place.
'use strict';
(() => {
  const SHELF = 'nightferry-kept';
  const PATIENCE_MS = 10000;
  const REFUSALS = [400, 409, 413, 422]; // Whatever else is no "ok" may be better later.
  const box = document.getElementById('kept');
  const phone = document.body.dataset.phone; // Nothing while nobody is let in.

  // Where a browser keeps nothing, or what it kept cannot be read, there is nothing.
  const kept = () => {
    try {
      const forms = JSON.parse(localStorage.getItem(SHELF));
      return Array.isArray(forms) ? forms : [];
    } catch {
      return [];
    }
  };
  const keep = (forms) => {
    try {
      localStorage.setItem(SHELF, JSON.stringify(forms));
      return true;
    } catch {
      return false;
    }
  };
  const isSame = (one, other) => one.action === other.action && one.id === other.id;
  const drop = (form) => keep(kept().filter((one) => !isSame(one, form)));

  const button = (words, onClick) => {
    const made = document.createElement('button');
    made.type = 'button';
    made.textContent = words;
    made.addEventListener('click', onClick);
    return made;
  };

  // The hub shows it once more with what is wrong with it, filled in as it was typed.
  const lookAt = ({ action, body }) => {
    const form = document.createElement('form');
    form.method = 'post';
    form.action = action;
    for (const [name, value] of new URLSearchParams(body)) {
      const field = document.createElement('input');
      Object.assign(field, { type: 'hidden', name, value });
      form.append(field);
    }
    document.body.append(form);
    form.submit();
  };

  const show = () => {
    const forms = kept();
    const refused = forms.find(({ refused, of }) => refused || of !== phone);
    if (!refused) {
      box.textContent = forms.length > 0 ? box.dataset.some.replace('{1}', forms.length) : '';
      return;
    }
    box.textContent = box.dataset.look;
    if (phone && refused.of === phone) box.append(button(box.dataset.open, () => lookAt(refused)));
    box.append(
      button(box.dataset.drop, () => {
        if (!confirm(box.dataset.dropAsked)) return;
        drop(refused);
        show();
      }),
    );
  };

  /** 'taken', 'refused', or 'later' where the hub did not answer or cannot take it now. */
  const send = async ({ action, body }) => {
    try {
      const headers = { 'Content-Type': 'application/x-www-form-urlencoded' };
      const answer = await fetch(action, { method: 'POST', headers, body, signal: AbortSignal.timeout(PATIENCE_MS) });
      if (answer.ok) return { fate: 'taken', url: answer.url };
      return { fate: REFUSALS.includes(answer.status) ? 'refused' : 'later' };
    } catch {
      return { fate: 'later' };
    }
  };

  const sendKept = async () => {
    for (const form of kept().filter(({ refused, of }) => !refused && of === phone)) {
      const { fate } = await send(form);
      if (fate === 'later') return;
      // What was not taken a person has to look at; it is never thrown away.
      if (fate === 'taken') drop(form);
      else keep(kept().map((one) => (isSame(one, form) ? { ...one, refused: true } : one)));
      show();
      if (fate === 'taken' && kept().length === 0) box.textContent = box.dataset.sent;
    }
  };

  document.addEventListener('submit', async (event) => {
    const form = event.target;
    if (form.method !== 'post' || !phone) return;
    event.preventDefault();
    if (form.dataset.sending) return;
    form.dataset.sending = 'yes';
    const data = new URLSearchParams(new FormData(form));
    const typed = { action: new URL(form.action).pathname, id: data.get('id'), of: phone, body: data.toString() };
    const { fate, url } = await send(typed);
    delete form.dataset.sending;
    if (fate === 'taken') {
      drop(typed);
      location.assign(url);
    } else if (fate === 'refused') {
      form.submit(); // Shown as without this script; nothing is there twice.
    } else {
      // "Now" was when it was typed, not when it gets through.
      data.set('typed_at', Math.floor(Date.now() / 1000));
      const isKept = keep([...kept().filter((one) => !isSame(one, typed)), { ...typed, body: data.toString() }]);
      box.textContent = isKept ? box.dataset.kept : box.dataset.notKept;
      box.scrollIntoView();
    }
  });

  document.addEventListener('click', ({ target }) => {
    const place = target.dataset?.place;
    if (place) target.closest('fieldset').querySelector(`input[value="${place}"]`)?.click();
  });

  show();
  if (phone) {
    sendKept();
    addEventListener('online', sendKept);
    setInterval(sendKept, 20000);
  }
})();
