"use strict";

// What a keeper may say here: with the token, typed once. The daemon decides what it permits from
// where; this only asks, and shows its sentence.

let sessionKey = null;

async function send(method, path, body) {
  const head = { "Content-Type": "application/json" };
  if (sessionKey !== null) {
    head["Limegate-Key"] = sessionKey;
  }
  const answer = await fetch(path, { method, headers: head, body: body === null ? undefined : JSON.stringify(body) });
  // A proxy may answer in its own words, and even with a page of its own.
  const said = await answer.json().catch(() => {
    throw new Error(`A proxy answered with ${answer.status}, and not the daemon.`);
  });
  if (answer.status === 401 && path === "/api/command") {
    unlock(null); // the session is over
    write(byId("lock-said"), "Nothing was done: the session is over. Type the token, then say it again.");
    byId("token").focus();
  }
  if (!answer.ok) {
    throw new Error(said.detail);
  }
  return said;
}

// What is said where an answer was wanted and none came.
function wordsOf(error) {
  return error instanceof TypeError ? "The daemon does not answer." : error.message;
}

function unlock(key) {
  sessionKey = key;
  document.body.classList.toggle("locked", key === null);
  byId("lock").hidden = key === null;
  byId("unlock").hidden = key !== null;
}

// Says what came of it beside the button that was pressed.
async function tell(place, body) {
  write(place, "…");
  try {
    write(place, (await send("POST", "/api/command", body)).sentence);
  } catch (error) {
    write(place, wordsOf(error));
  }
}

function commandButton(parent, word, press) {
  const button = make("button", "command", parent);
  button.type = "button";
  write(button, word);
  button.addEventListener("click", press);
  return button;
}

class Commands {
  constructor(name, id, root) {
    this.name = name;
    const details = make("details", "commands", root);
    write(make("summary", "", details), "Do something");
    const pause = make("p", "", details);
    const label = make("label", "", pause);
    label.append("For ");
    this.minutes = make("select", "", label);
    for (const [minutes, word] of [[60, "1 h"], [120, "2 h"], [360, "6 h"], [1440, "24 h"]]) {
      const option = make("option", "", this.minutes);
      option.value = minutes;
      write(option, word);
    }
    this.minutes.value = 120;
    commandButton(pause, "Pause dosing", () => this.say({ command: "pause", minutes: Number(this.minutes.value) }));
    commandButton(pause, "Go on", () => this.say({ command: "resume" }));
    commandButton(pause, "Stir now", () => this.ask("Stir now? The limewater is milky then, and nothing is given until it has settled.", { command: "stir" }));
    const volume = make("form", "", details);
    const field = make("label", "", volume);
    field.append("A day's volume, mL ");
    this.volume = make("input", "", field);
    this.volume.type = "number";
    this.volume.min = 0;
    this.volume.step = "any";
    this.volume.required = true;
    this.volume.id = `${id}-volume`;
    write(make("button", "command", volume), "Set it");
    volume.addEventListener("submit", (event) => {
      event.preventDefault();
      const ml = Number(this.volume.value);
      this.ask(`Give ${ml} mL a day from the next clear window on? Now it is ${this.now} mL.`, { command: "set-day-volume", ml });
    });
    this.volume.addEventListener("input", () => {
      this.typed = true;
    });
    this.said = make("p", "said", details);
    this.said.setAttribute("role", "status");
    this.details = details;
  }

  say(body) {
    this.details.open = true;
    return tell(this.said, { ...body, station: this.name });
  }

  ask(question, body) {
    if (confirm(question)) {
      this.typed = false;
      this.say(body);
    }
  }

  live(state) {
    this.now = state.day_volume_ml;
    if (!this.typed && document.activeElement !== this.volume) {
      this.volume.value = state.day_volume_ml; // another person may have set it
    }
  }
}

byId("unlock").addEventListener("submit", async (event) => {
  event.preventDefault();
  const field = byId("token");
  try {
    unlock((await send("POST", "/api/session", { token: field.value })).key);
    field.value = "";
    write(byId("lock-said"), "");
  } catch (error) {
    write(byId("lock-said"), wordsOf(error));
  }
});

byId("lock").addEventListener("click", async () => {
  try {
    await send("DELETE", "/api/session", null);
    unlock(null);
  } catch (error) {
    write(byId("lock-said"), wordsOf(error));
  }
});

fetch("/api/session")
  .then((answer) => answer.json())
  .then((said) => unlock(said.key))
  .catch(() => unlock(null));
