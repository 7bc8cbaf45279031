// Signs a prepared statement: with a passkey, or with a key under a passphrase. The form then
// carries the answer to the server, which checks it before anything is done.
import { SIGNING, Trouble, answering, fromBase64Url, havePasskeys, toBase64Url, unwrap, utf8 } from "./keys.js";

const HEADER = '{"alg":"ES256","typ":"countershade-statement"}';

async function byPasskey(form) {
  havePasskeys();
  const said = form.dataset;
  // The challenge is made here from the statement that the page shows, not taken as given.
  const challenge = await crypto.subtle.digest("SHA-256", utf8(said.statement));
  if (toBase64Url(challenge) !== said.challenge) throw new Trouble("other");
  const found = await navigator.credentials.get({
    publicKey: {
      challenge,
      rpId: said.relyingParty,
      allowCredentials: [{ type: "public-key", id: fromBase64Url(said.credential) }],
      userVerification: "required",
    },
  });
  form.elements.authenticator_data.value = toBase64Url(found.response.authenticatorData);
  form.elements.client_data.value = toBase64Url(found.response.clientDataJSON);
  form.elements.passkey_signature.value = toBase64Url(found.response.signature);
}

async function byPassphrase(form) {
  const field = form.querySelector("#id_passphrase");
  let key;
  try {
    key = await unwrap(JSON.parse(form.dataset.wrapped), field.value);
  } catch {
    throw new Trouble("passphrase");
  }
  const header = toBase64Url(utf8(HEADER));
  const input = utf8(`${header}.${toBase64Url(utf8(form.dataset.statement))}`);
  const signature = await crypto.subtle.sign(SIGNING, key, input);
  field.value = "";
  form.elements.jws.value = `${header}..${toBase64Url(signature)}`;
}

document.querySelectorAll("form[data-signing]").forEach((form) => {
  answering(form, form.dataset.signing === "passkey" ? byPasskey : byPassphrase);
});
