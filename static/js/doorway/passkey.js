// Passkeys: asks the browser for a key, puts its answer into the form and sends that.

const bytes = text => Uint8Array.from(atob(text.replace(/-/g, '+').replace(/_/g, '/')), sign => sign.charCodeAt(0));

const text = buffer =>
  btoa(String.fromCharCode(...new Uint8Array(buffer)))
    .replace(/\+/g, '-')
    .replace(/\//g, '_')
    .replace(/=+$/, '');

// What goes to the browser in bytes comes from the server in letters, and the reverse.
const known = list => (list ?? []).map(one => ({ ...one, id: bytes(one.id) }));

const spoken = credential => {
  const said = { clientDataJSON: text(credential.response.clientDataJSON) };
  for (const part of ['attestationObject', 'authenticatorData', 'signature', 'userHandle']) {
    if (credential.response[part]) said[part] = text(credential.response[part]);
  }
  return {
    id: credential.id,
    rawId: text(credential.rawId),
    type: credential.type,
    authenticatorAttachment: credential.authenticatorAttachment,
    response: said,
    clientExtensionResults: credential.getClientExtensionResults(),
  };
};

const ask = ({ publicKey }) =>
  navigator.credentials.get({
    publicKey: {
      ...publicKey,
      challenge: bytes(publicKey.challenge),
      allowCredentials: known(publicKey.allowCredentials),
    },
  });

const make = ({ publicKey }) =>
  navigator.credentials.create({
    publicKey: {
      ...publicKey,
      challenge: bytes(publicKey.challenge),
      user: { ...publicKey.user, id: bytes(publicKey.user.id) },
      excludeCredentials: known(publicKey.excludeCredentials),
      authenticatorSelection: {
        residentKey: 'required',
        requireResidentKey: true,
        userVerification: 'required',
      },
    },
  });

const onPage = id => JSON.parse(document.getElementById(id).textContent);

const fetched = async address => {
  const answer = await fetch(address, { headers: { Accept: 'application/json' } });
  if (!answer.ok) throw new Error(`no options: ${answer.status}`);
  return answer.json();
};

function serve(form, credential) {
  const alert = form.querySelector('[role=alert]');
  form.hidden = false;
  form.addEventListener('submit', async event => {
    event.preventDefault();
    alert.hidden = true;
    try {
      form.elements.credential.value = JSON.stringify(spoken(await credential()));
    } catch {
      alert.hidden = false;
      return;
    }
    form.submit();
  });
}

if (globalThis.PublicKeyCredential) {
  for (const form of document.querySelectorAll('[data-passkey]')) {
    serve(form, async () => ask((await fetched(form.dataset.passkey)).request_options));
  }
  for (const form of document.querySelectorAll('[data-passkey-options]')) {
    serve(form, () => ask(onPage(form.dataset.passkeyOptions).request_options));
  }
  for (const form of document.querySelectorAll('[data-new-passkey]')) {
    serve(form, () => make(onPage(form.dataset.newPasskey).creation_options));
  }
}
