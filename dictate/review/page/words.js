// Completion of a term, by spelling and by sound: the server knows the words.

const input = document.getElementById("f-text");
const list = document.getElementById("terms");
let path = "";
let asked = 0;
let chosen = -1;

export function completeFor(field) {
  path = field;
  close();
}

export function close() {
  asked += 1; // an answer that is still on its way is not wanted any more
  list.hidden = true;
  list.replaceChildren();
  chosen = -1;
  input.setAttribute("aria-expanded", "false");
  input.removeAttribute("aria-activedescendant");
}

function choose(place) {
  const all = [...list.children];
  if (!all.length) return;
  chosen = (place + all.length) % all.length;
  all.forEach((each, i) => each.setAttribute("aria-selected", String(i === chosen)));
  input.setAttribute("aria-activedescendant", all[chosen].id);
  all[chosen].scrollIntoView({ block: "nearest" });
}

function take(text) {
  input.value = text;
  close();
}

function show(terms) {
  list.replaceChildren(
    ...terms.map((term, i) => {
      const made = document.createElement("span");
      made.id = `term-${i}`;
      made.setAttribute("role", "option");
      made.setAttribute("aria-selected", "false");
      made.textContent = term;
      // before the field loses the focus
      made.addEventListener("pointerdown", (event) => {
        event.preventDefault();
        take(term);
      });
      return made;
    }),
  );
  chosen = -1;
  list.hidden = !terms.length;
  input.setAttribute("aria-expanded", String(!list.hidden));
}

export async function ask() {
  asked += 1;
  const mine = asked;
  const answer = await fetch(`/words?${new URLSearchParams({ path, text: input.value.slice(0, 80) })}`);
  if (!answer.ok || mine !== asked) return;
  const { terms } = await answer.json();
  if (mine === asked && document.activeElement === input) show(terms.filter((term) => term !== input.value));
}

input.addEventListener("input", ask);
input.addEventListener("blur", close);
input.addEventListener("keydown", (event) => {
  if (event.key === "ArrowDown" || event.key === "ArrowUp") {
    event.preventDefault();
    if (list.hidden) ask();
    else choose(event.key === "ArrowDown" ? chosen + 1 : chosen - 1);
  } else if (event.key === "Enter" && chosen >= 0 && !list.hidden) {
    event.preventDefault();
    take(list.children[chosen].textContent);
  } else if (event.key === "Escape" && !list.hidden) {
    event.stopPropagation();
    close();
  }
});
