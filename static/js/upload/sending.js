// Sending one film as the whole body of one request, and what became of it.

/** What can become of a film: the word is also the name of its sentence on the page. */
export const WHOLE = "whole";
export const REFUSED = "refused";
export const BROKEN = "broken";
export const CANCELLED = "cancelled";

/**
 * @returns {{done: Promise<{end: string, why: string, retry: boolean, status: number}>, cancel: () => void}}
 *   `why` is the server's own sentence or the name of one of ours.
 */
export function send(file, { url, token, notToBeShown, onSent }) {
  const request = new XMLHttpRequest();
  request.open("POST", url);
  request.setRequestHeader("Content-Type", "application/octet-stream");
  request.setRequestHeader("X-CSRFToken", token);
  request.setRequestHeader("X-File-Name", encodeURIComponent(file.name));
  if (notToBeShown) request.setRequestHeader("X-Not-To-Be-Shown", "yes");
  request.upload.addEventListener("progress", (event) => onSent(event.loaded));
  const done = new Promise((resolve) => {
    request.addEventListener("load", () => resolve(judge(request)));
    request.addEventListener("error", () => resolve(end(BROKEN, "brokenWhy")));
    request.addEventListener("abort", () => resolve(end(CANCELLED, "")));
  });
  // A slice reads a file that is gone or changed as an error, not as fewer bytes.
  request.send(file.slice(0, file.size, "application/octet-stream"));
  return { done, cancel: () => request.abort() };
}

const end = (name, why, retry = true) => ({ end: name, why, retry, status: 0 });

/** An answer that is not the portal's JSON is a sign-in page, or somebody's between us. */
export function judge({ status, responseText }) {
  const said = parse(responseText);
  if (status === 201 && said) return end(WHOLE, "", false);
  if (status === 403 || status === 404) return end(REFUSED, "noRight");
  if (said?.problem) return end(status === 400 ? BROKEN : REFUSED, said.problem, status !== 422);
  if (status === 200) return end(REFUSED, "signedOut");
  return { ...end(REFUSED, "unforeseen"), status };
}

function parse(words) {
  try {
    return JSON.parse(words);
  } catch {
    return null;
  }
}
