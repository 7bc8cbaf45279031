// What enrolling and signing have in common: base64url, keys under a passphrase, messages.
// The private part of a key exists in the clear in this file's functions only, and is never sent.

export const ITERATIONS = 600000;
export const CURVE = { name: "ECDSA", namedCurve: "P-256" };
export const SIGNING = { name: "ECDSA", hash: "SHA-256" };

export const utf8 = (text) => new TextEncoder().encode(text);

export function toBase64Url(data) {
  const bytes = new Uint8Array(data);
  let text = "";
  for (const byte of bytes) text += String.fromCharCode(byte);
  return btoa(text).replaceAll("+", "-").replaceAll("/", "_").replaceAll("=", "");
}

export function fromBase64Url(text) {
  const plain = atob(text.replaceAll("-", "+").replaceAll("_", "/"));
  return Uint8Array.from(plain, (one) => one.charCodeAt(0));
}

function typedKey(passphrase, use) {
  // The same passphrase typed on another keyboard may be composed in another way.
  const typed = utf8(passphrase.normalize("NFC"));
  return crypto.subtle.importKey("raw", typed, "PBKDF2", false, [use]);
}

const stretched = (salt, iterations) => ({ name: "PBKDF2", hash: "SHA-256", salt, iterations });

async function wrappingKey(passphrase, salt, iterations, use) {
  const base = await typedKey(passphrase, "deriveKey");
  const how = { name: "AES-GCM", length: 256 };
  return crypto.subtle.deriveKey(stretched(salt, iterations), base, how, false, [use]);
}

// What the service made of the account's password with the same challenge.
export async function passwordMark(typed, challenge) {
  const base = await typedKey(typed, "deriveBits");
  return toBase64Url(await crypto.subtle.deriveBits(stretched(utf8(challenge), ITERATIONS), base, 256));
}

export async function wrap(privateKey, passphrase) {
  const salt = crypto.getRandomValues(new Uint8Array(16));
  const iv = crypto.getRandomValues(new Uint8Array(12));
  const under = await wrappingKey(passphrase, salt, ITERATIONS, "wrapKey");
  const data = await crypto.subtle.wrapKey("pkcs8", privateKey, under, { name: "AES-GCM", iv });
  return {
    v: 1, kdf: "PBKDF2-SHA-256", iterations: ITERATIONS, salt: toBase64Url(salt),
    cipher: "AES-256-GCM", iv: toBase64Url(iv), data: toBase64Url(data),
  };
}

export async function unwrap(wrapped, passphrase) {
  const salt = fromBase64Url(wrapped.salt);
  const under = await wrappingKey(passphrase, salt, wrapped.iterations, "unwrapKey");
  const how = { name: "AES-GCM", iv: fromBase64Url(wrapped.iv) };
  const data = fromBase64Url(wrapped.data);
  return crypto.subtle.unwrapKey("pkcs8", data, under, how, CURVE, false, ["sign"]);
}

export class Trouble extends Error {}

// Shows a message by its name, and takes it away again. Messages stand in the page, translated.
export function messages(form) {
  const box = form.querySelector("[data-trouble]");
  return (name) => {
    box.hidden = !name;
    box.className = name ? "errors" : "";
    box.textContent = name ? box.dataset[name] || box.dataset.other : "";
    if (name) box.focus();
  };
}

// Runs `work` when the form is sent; then sends it with what `work` wrote into its fields.
export function answering(form, work) {
  const button = form.querySelector("button");
  const say = messages(form);
  form.addEventListener("submit", async (event) => {
    event.preventDefault();
    if (button.disabled) return;
    button.disabled = true;
    say("");
    try {
      await work(form);
      form.submit();
    } catch (error) {
      button.disabled = false;
      say(error instanceof Trouble ? error.message : error.name === "NotAllowedError" ? "refused" : "other");
    }
  });
  button.disabled = false;
}

export function havePasskeys() {
  if (!window.PublicKeyCredential || !navigator.credentials) throw new Trouble("passkeys");
}
