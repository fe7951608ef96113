// What every page's script uses: asking the desk, telling what is wrong, times as the browser's language has them.

export class Refused extends Error {
  constructor(status, problems) {
    super(problems.map(said).join("\n"));
    this.status = status;
    this.problems = problems;
  }
}

// A problem in one line: what it is about, as a page calls it or as a file does, and what is wrong.
export function said(each) {
  const place = each.label ?? each.where;
  return place ? `${place}: ${each.text}` : each.text;
}

// Says something to whoever does not see the page change.
export function announce(text) {
  document.getElementById("status").textContent = text;
}

// Shows problems at the head of the page, or where `place` is; none clear it.
export function showProblems(problems, place = document.getElementById("problems")) {
  place.replaceChildren(
    ...problems.map((each) => {
      const line = document.createElement("p");
      line.className = "problem";
      line.textContent = said(each);
      return line;
    }),
  );
}

async function asked(url, options) {
  let answer;
  try {
    answer = await fetch(url, options);
  } catch (error) {
    if (error.name === "AbortError") throw error;
    throw new Refused(0, [{ where: "", text: document.body.dataset.offline }]);
  }
  // Whoever ends the desk while it answers gets no JSON.
  const value = await answer.json().catch(() => ({ problems: [{ where: "", text: document.body.dataset.offline }] }));
  if (!answer.ok) throw new Refused(answer.status, value.problems ?? []);
  return value;
}

// Returns what the desk answers to a value, or throws Refused, or AbortError where `signal` gave it up.
export function post(url, value = {}, signal = undefined) {
  return asked(url, {
    method: "POST",
    headers: { "Content-Type": "application/json", Accept: "application/json" },
    body: JSON.stringify(value),
    signal,
  });
}

// Returns what the desk answers, as `post`.
export function get(url, signal = undefined) {
  return asked(url, { headers: { Accept: "application/json" }, signal });
}

// Does something and shows what is wrong with it; returns whether nothing was.
export async function trying(what, place = undefined) {
  showProblems([], place);
  try {
    await what();
    return true;
  } catch (error) {
    if (error.name === "AbortError") return false;
    if (!(error instanceof Refused)) throw error;
    showProblems(error.problems, place);
    (place ?? document.getElementById("problems")).scrollIntoView({ block: "nearest" });
    return false;
  }
}

// Tells times in the browser's language; their datetime says them exactly.
export function tellTimes(root = document) {
  const form = new Intl.DateTimeFormat(navigator.language, { dateStyle: "medium", timeStyle: "short" });
  for (const each of root.querySelectorAll("time[datetime]")) {
    const when = new Date(each.dateTime);
    if (!Number.isNaN(when.getTime())) each.textContent = form.format(when);
  }
}

tellTimes();
