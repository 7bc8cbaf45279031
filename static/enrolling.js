// Makes a key of the signatory's own: a passkey on a device, or a P-256 key under a passphrase.
import { CURVE, SIGNING, Trouble, answering, fromBase64Url, havePasskeys, passwordMark, toBase64Url, utf8, wrap } from "./keys.js";

async function passkey(form) {
  havePasskeys();
  const options = JSON.parse(form.dataset.options);
  options.challenge = fromBase64Url(options.challenge);
  options.user.id = fromBase64Url(options.user.id);
  options.excludeCredentials = (options.excludeCredentials || []).map((one) => ({
    ...one, id: fromBase64Url(one.id),
  }));
  const made = await navigator.credentials.create({ publicKey: options });
  form.elements.credential.value = JSON.stringify({
    id: made.id,
    rawId: toBase64Url(made.rawId),
    type: made.type,
    response: {
      clientDataJSON: toBase64Url(made.response.clientDataJSON),
      attestationObject: toBase64Url(made.response.attestationObject),
    },
  });
}

async function underPassphrase(form) {
  const [field, again] = [form.querySelector("#id_passphrase"), form.querySelector("#id_again")];
  if ([...field.value.normalize("NFC")].length < Number(form.dataset.shortest)) throw new Trouble("short");
  if (field.value !== again.value) throw new Trouble("differs");
  const { challenge: asked, passwordMark: mark } = form.dataset;
  if ((await passwordMark(field.value, asked)) === mark) throw new Trouble("password");
  const pair = await crypto.subtle.generateKey(CURVE, true, ["sign", "verify"]);
  const wrapped = await wrap(pair.privateKey, field.value);
  const challenge = utf8(`countershade key enrolment ${asked}`);
  const possession = await crypto.subtle.sign(SIGNING, pair.privateKey, challenge);
  form.elements.wrapped.value = JSON.stringify(wrapped);
  form.elements.possession.value = toBase64Url(possession);
  form.elements.public_key.value = toBase64Url(await crypto.subtle.exportKey("spki", pair.publicKey));
  field.value = again.value = "";
}

document.querySelectorAll("form[data-enrolling]").forEach((form) => {
  answering(form, form.dataset.enrolling === "passkey" ? passkey : underPassphrase);
});
