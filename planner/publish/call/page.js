// The call page at work: reads the form, loads the tables it needs, shows the answer, keeps the call in the address. It
// asks nobody but the folder it came from, and leaves on the device the rig alone. Classic script, without requests, so
// that it also runs in pages opened from a folder.

(function () {
  "use strict";

  var look = rangeferry.lookup;
  var state = rangeferry.state;
  var known = rangeferry.known;
  var show = rangeferry.answer;
  var words = look.words();
  var esc = show.esc;

  var REMEMBERED = "rangeferry-rig"; // on the device
  var FOUND_SHOWN = 12; // classes by words
  // A second touch so soon, and so near, was meant for what stood there before, or comes before the next question can have
  // been read: a person needs 1.35 s to make up the mind (the mental operator of the keystroke-level model, from memory).
  var TWICE_MS = 900;
  var TWICE_PX = 24;
  var FIRST_PORTS = 5; // the ones most met
  var AT_ONCE = 6; // tables that are loaded side by side
  var QR_LONGEST = 900; // letters that a phone's camera still reads off a screen
  // Letters from which on an answer prints smaller, step by step, to stay on one page.
  var LONG_ANSWERS = [9200, 10500, 11600, 12500, 13800];
  var KEEP_MS = 400; // some browsers allow no more than so many changes of an address in a while

  var page = byId("call-page"),
    form = /** @type {HTMLFormElement} */ (byId("call")),
    answer = byId("answer");
  var sheet = byId("sheet"),
    stay = byId("stay"),
    rest = byId("rest"),
    compared = byId("compared"),
    notes = byId("notes"),
    bar = byId("bar"),
    news = byId("news");
  var share = /** @type {HTMLDetailsElement} */ (byId("share"));
  var rig_box = /** @type {HTMLDetailsElement} */ (byId("rigs-to-choose"));
  var finder = /** @type {HTMLInputElement} */ (byId("find-class"));
  var chosen_class = "";
  var chosen_rig = ""; // by hand, on this visit
  /** @type {Object<string, Promise<boolean>>} */
  var loading = {};
  /** @type {Object<string, boolean>} */
  var there = {}; // what has been loaded
  var turn = 0; // of the answers: one that was overtaken is not shown
  var kept = 0, // a timer
    kept_at = 0;
  /** @type {Object<string, string>|null} */
  var to_keep = null; // answers that the address does not hold yet
  /** @type {Object<string, boolean>} */
  var ticked = {}; // steps, by their words
  var ticked_for = ""; // rig and class
  /** @type {string[]} */
  var opened = []; // details of the answer that is being replaced
  var refocus = false;
  var onward = false; // a question about the vehicle was answered in the answer: the next one may stand in the form
  var back = false; // the rig, or a row that the answer led to, was chosen: what is next may stand in the answer
  var by_key = false; // whether a key was the last that was touched
  var hearing = ""; // the line of the answer that was touched: it is there again
  /** @type {Object<string, boolean>} */
  var passed = {}; // questions about the vehicle that nobody could answer
  /** @type {string[]} */
  var filled = []; // the elements of the upper part, as they were written
  var answered = ""; // the question last
  var touched = { at: -Infinity, x: 0, y: 0 }; // a square of the answer, last
  var step = false; // whether what is kept next is one to go back from
  var noted = ""; // what stands above the answer
  var sent = ""; // the link that was handed on
  var notice = ""; // about the address that was opened
  var drawn = rangeferry.paths || {};
  var sight = new IntersectionObserver(function (seen) {
    bar.classList.toggle("seen", seen[seen.length - 1].isIntersecting);
  });

  /** @param {string} id @returns {HTMLElement} */
  function byId(id) {
    return /** @type {HTMLElement} */ (document.getElementById(id));
  }

  // ------------------------------------------------------------------------------------------------------- the form

  /** @type {Object<string, Array<HTMLInputElement|HTMLSelectElement>>} */
  var fields = {}; // the form stays as it is: each name is looked for once

  /** @type {Object<string, HTMLElement>} */
  var rows = {};

  /** @param {string} name @returns {Array<HTMLInputElement|HTMLSelectElement>} */
  function inputs(name) {
    if (!fields[name]) fields[name] = /** @type {any} */ (Array.from(form.querySelectorAll('[name="' + name + '"]')));
    return fields[name];
  }

  /** @param {string} name @returns {string} */
  function read(name) {
    if (name === "class") return chosen_class;
    var found = inputs(name);
    if (!found.length) return "";
    if (found[0].type !== "radio") return wholeOf(found[0]);
    var on = /** @type {HTMLInputElement[]} */ (found).filter(function (one) {
      return one.checked;
    })[0];
    return on ? on.value : "";
  }

  /**
   * What a field holds; of a number its whole part: 8.5 is 8, and never 85.
   * @param {HTMLInputElement|HTMLSelectElement} field
   * @returns {string}
   */
  function wholeOf(field) {
    var text = field.value.trim();
    return field.dataset.most ? text.replace(/[.,].*$/, "") : text;
  }

  /** @param {string} name @param {string} value */
  function write(name, value) {
    if (name === "class") {
      chosen_class = value;
      return;
    }
    inputs(name).forEach(function (one) {
      if (one.type === "radio") {
        /** @type {HTMLInputElement} */ (one).checked = one.value === value;
        if (one.value === value && value) unfold(one);
      } else one.value = value;
    });
  }

  /** @param {HTMLElement} element */
  function unfold(element) {
    var folded = element.closest("details");
    if (folded && folded !== rig_box) folded.open = true;
  }

  /** @returns {Object<string, string>} */
  function readAll() {
    var given = state.blank();
    state.names.forEach(function (/** @type {string} */ name) {
      given[name] = read(name);
    });
    return given;
  }

  /** @param {Object<string, string>} given */
  function writeAll(given) {
    state.names.forEach(function (/** @type {string} */ name) {
      write(name, given[name]);
    });
  }

  /** What each name may hold. @returns {Object<string, string[]>} */
  function offered() {
    /** @type {Object<string, string[]>} */
    var found = { class: Object.keys(words.classes) };
    state.names.forEach(function (/** @type {string} */ name) {
      if (name === "class") return;
      var all = inputs(name);
      if (!all.length) return;
      found[name] =
        all[0].tagName === "SELECT"
          ? Array.from(/** @type {HTMLSelectElement} */ (all[0]).options).map(function (one) {
              return one.value;
            })
          : all.map(function (one) {
              return one.value;
            });
    });
    return found;
  }

  /**
   * The squares of a name, value and finished HTML, and what they are called.
   * @param {string} name
   * @returns {{label: string, squares: Array<[string, string]>}}
   */
  function choices(name) {
    var row = form.querySelector('[data-row="' + name + '"]');
    return {
      label: (row && row.getAttribute("aria-label")) || "",
      squares: inputs(name)
        .filter(function (one) {
          return one.type === "radio" && one.parentElement !== null && !one.parentElement.hidden;
        })
        .map(function (one) {
          var label = /** @type {HTMLElement} */ (one.nextElementSibling);
          return [one.value, label.innerHTML];
        }),
    };
  }

  /**
   * Shows of the form what may matter for the answers so far.
   * @param {Object<string, string>} given
   */
  function fit(given) {
    var item = words.classes[given["class"]],
      rig = look.rigs[given.rig];
    /** @param {string} name @param {boolean} on */
    function row(name, on) {
      var one =
        rows[name] || (rows[name] = /** @type {HTMLElement} */ (form.querySelector('[data-row="' + name + '"]')));
      if (one.hidden === on) one.hidden = !on;
    }
    row("percent", given.dash === "percent" || given.dash === "unknown");
    row("shown", given.dash === "miles");
    row("bars", given.dash === "bars");
    row("of", given.dash === "bars");
    row("to", given.need === "to");
    row("minutes", given.need === "minutes");
    row("fits", state.needOf(given) === "charger");
    row("keep", /home|charger/.test(state.needOf(given)));
    var fuels = rig && rig.supply.fuels ? Object.keys(rig.supply.fuels) : [];
    row("fuel", fuels.length > 1);
    row("own_tank", fuels.length > 0);
    row("own_cans", fuels.length > 0);
    row("own_charge", Boolean(rig && rig.supply.battery));
    byId("on-board").hidden = !fuels.length && !(rig && rig.supply.battery);
    byId("rig-chosen").textContent = given.rig ? words.rigs[given.rig] : "not chosen";
    usual("air", rig && words.airs[rig.usual[0]]);
    usual("height", rig && words.altitude_steps_ft[rig.usual[1]].toLocaleString("en-US") + " ft");
    row("open", !rig || rig.engine);
    row("clear", !rig || rig.engine);
    row("people", !rig || rig.engine);
    inputs("fuel").forEach(function (one) {
      /** @type {HTMLElement} */ (one.parentElement).hidden = one.value !== "" && fuels.indexOf(one.value) < 0;
    });
    byId("by-known").hidden = Boolean(item);
    byId("by-engine").hidden = !(item && item[7]);
    row("port", !item || item[2].length > 1);
    inputs("port").forEach(function (one) {
      /** @type {HTMLElement} */ (one.parentElement).hidden =
        Boolean(item) && one.value !== "" && item[2].indexOf(one.value) < 0;
    });
    byId("chosen").hidden = !item;
    if (item) /** @type {HTMLElement} */ (byId("chosen").querySelector("b")).textContent = item[0];
    finder.parentElement && finder.parentElement.classList.toggle("has", Boolean(item));
  }

  /**
   * Says what an answer that is left out stands for.
   * @param {string} name
   * @param {string} value empty where no rig is known
   */
  function usual(name, value) {
    var option = /** @type {HTMLSelectElement} */ (inputs(name)[0]).options[0];
    var text = value ? "Not asked: " + value : "Not asked: as usual at our rig's place";
    if (option.text !== text) option.text = text;
  }

  // ------------------------------------------------------------------------------------------------------ the tables

  /**
   * Loads a script of the site once; false where it cannot be had, so that a later try asks again.
   * @param {string} path
   * @returns {Promise<boolean>}
   */
  function load(path) {
    if (path in loading) return loading[path];
    loading[path] = new Promise(function (done) {
      var element = document.createElement("script");
      element.src = path;
      element.onload = function () {
        there[path] = true;
        done(true);
      };
      element.onerror = function () {
        delete loading[path];
        element.remove();
        done(false);
      };
      document.head.append(element);
    });
    return loading[path];
  }

  /**
   * Loads several, a few at a time; tells how many are there.
   * @param {string[]} paths
   * @param {function(number): void} told
   * @returns {Promise<boolean>}
   */
  function loadAll(paths, told) {
    var next = 0,
      read = 0,
      good = true;
    /** @returns {Promise<void>} */
    function one() {
      if (next >= paths.length) return Promise.resolve();
      var path = paths[next];
      next += 1;
      return load(path).then(function (fine) {
        good = good && fine;
        read += 1;
        told(read);
        return one();
      });
    }
    var lines = [];
    for (var at = 0; at < AT_ONCE; at += 1) lines.push(one());
    return Promise.all(lines).then(function () {
      return good;
    });
  }

  /** @param {string} id @returns {string} */
  function classPath(id) {
    return "call/classes/" + id + ".js";
  }

  /** @param {string} id @returns {string} */
  function rigPath(id) {
    return "call/rigs/" + id + ".js";
  }

  // ------------------------------------------------------------------------------------------------------ the answer

  /** Answers the call as it stands. @returns {Promise<void>} */
  function ask() {
    var given = readAll(),
      mine = (turn += 1);
    var facts = factsOf(given);
    var some = state.KNOWN.some(function (/** @type {string} */ name) {
      return given[name];
    });
    var ids = given["class"] ? [given["class"]] : some ? known.matching(words, facts) : [];
    fit(given);
    findClasses(given);
    if (share.open) openShare();
    if (!Object.keys(words.rigs).length) return Promise.resolve(putAll(empty("No rig is in the data."), ""));
    var paths = given.rig
      ? [rigPath(given.rig)].concat(ids.map(classPath))
      : Object.keys(words.rigs)
          .map(rigPath)
          .concat(given["class"] ? [classPath(given["class"])] : []);
    // One that an overtaken answer still waits for is not there yet either.
    var missing = paths.some(function (path) {
      return !there[path];
    });
    if (missing) wait(paths.length, dangerOf(given));
    var read = missing
      ? loadAll(paths, function (count) {
          var waiting = sheet.querySelector(".wait");
          if (mine === turn && waiting) waiting.textContent = "Reading tables: " + count + " of " + paths.length;
        })
      : Promise.resolve(true);
    return read
      .then(function (good) {
        if (mine !== turn) return;
        if (missing) fit(given); // now that it is known what the rig has
        if (look.renewed())
          putAll(
            empty(
              "These pages were renewed on the server while this one was open. Load the page again: the call stays in its address."
            ) + '<p class="acts"><button type="button" id="load-again">Load again</button></p>',
            "Load the page again."
          );
        else if (!good)
          putAll(
            refusedAnyhow(dangerOf(given)) +
              empty(
                "A table could not be read: no answer before all of them are there. Look at the connection, then change any answer to try again."
              ),
            "No answer: a table could not be read."
          );
        else if (!given.rig) answerNone(given, mine);
        else if (given["class"]) answerOne(given, mine);
        else if (!some || !ids.length) {
          var danger = dangerOf(given);
          if (danger.length) putAll(refusedAnyhow(danger), newsOf(danger));
          else if (some) putAll(nothing(), "No class fits all of that.");
          else {
            putAll(start(), "");
            comeBack(); // the rig was chosen: what is asked next stands there
          }
        } else answerMany(given, facts, ids);
      })
      .catch(function (error) {
        // A fault of ours must not leave a former answer, or none at all without a word.
        putAll(
          empty(
            "This page met a fault of its own and gives no answer to this call. Take it by the command line (rangeferry call), and tell whoever keeps these pages."
          ),
          "No answer."
        );
        throw error;
      });
  }

  /** What is known of a vehicle besides its class. @param {Object<string, string>} given @returns {any} */
  function factsOf(given) {
    return { port: given.port, body: given.body, built: given.built, battery: given.battery, door: given.door };
  }

  /**
   * Takes the former answer away while tables are read: it is of another call.
   * @param {number} count
   * @param {any[]} danger what forbids it whatever the tables say
   */
  function wait(count, danger) {
    if (!sheet.querySelector(".wait")) opened = unfolded();
    fill(refusedAnyhow(danger) + '<p class="wait lead">Reading tables: 0 of ' + count + "</p>");
    old(true);
    bar.hidden = true;
    news.textContent = danger.length ? newsOf(danger) : "Reading tables.";
  }

  /** @param {string} text @returns {string} */
  function empty(text) {
    return '<p class="lead">' + esc(text) + "</p>";
  }

  /**
   * Which rig goes has to be said before anything else can be: danger is told even so, and the rigs beside each other
   * where the vehicle is known.
   * @param {Object<string, string>} given
   * @param {number} mine
   */
  function answerNone(given, mine) {
    var every = Object.keys(words.rigs).map(function (id) {
      return refusals(given, look.rigs[id]);
    });
    var all_refuse = every.every(function (one) {
      return one.length;
    });
    if (all_refuse) return putAll(refusedAnyhow(every[0]), newsOf(every[0]));
    putAll(
      show.block(
        "ask_first",
        "Which of our rigs goes?",
        "<p>Choose it once: it is remembered on this device.</p>" + show.answers(["rig"], choices)
      ),
      "Which of our rigs goes?"
    );
    if (given["class"]) compare(given, given["class"], inletOf(given), mine);
  }

  /** The port that was said, where the class has a choice. @param {Object<string, string>} given @returns {string} */
  function inletOf(given) {
    var item = words.classes[given["class"]];
    return item[2].length > 1 && item[2].indexOf(given.port) >= 0 ? given.port : "";
  }

  /**
   * What place and vehicle forbid whichever class it is: told at once, before anybody asks which.
   * @param {Object<string, string>} given
   * @param {any} rig
   * @returns {any[]}
   */
  function refusals(given, rig) {
    var call = state.callOf(given, "", "", rig, words);
    return rangeferry.sheet.rulings(call, rig, { dead: false }, rig.reach_m).filter(function (/** @type {any} */ one) {
      return one.level === "refuse";
    });
  }

  /**
   * What forbids it with the rig that was chosen, as far as its table is there.
   * @param {Object<string, string>} given
   * @returns {any[]}
   */
  function dangerOf(given) {
    var rig = look.rigs[given.rig];
    return rig ? refusals(given, rig) : [];
  }

  /** @param {any[]} danger @returns {string} */
  function refusedAnyhow(danger) {
    if (!danger.length) return "";
    var told = danger.map(function (one) {
      return "<p>" + esc(one.text) + "</p>";
    });
    return show.block("cannot_serve", words.verdicts.cannot_serve, show.call911(danger) + told.join(""));
  }

  /** @param {any[]} danger @returns {string} */
  function newsOf(danger) {
    return (show.calls911(danger) ? "Call 911. " : "") + words.verdicts.cannot_serve + ": " + danger[0].text;
  }

  /** @returns {string} */
  function start() {
    return show.block(
      "ask_first",
      "Which vehicle is it?",
      "<p>Touch its port, or type its class.</p>" +
        '<div class="o"><a class="sq" href="#danger" data-go="danger">Danger there? First this</a>' +
        '<a class="sq" href="#find-class">Type its class</a>' +
        choices("port")
          .squares.slice(0, FIRST_PORTS)
          .map(function (choice) {
            return (
              '<button type="button" class="sq" data-set="' + esc("port=" + choice[0]) + '">' + choice[1] + "</button>"
            );
          })
          .join("") +
        "</div>"
    );
  }

  /**
   * A class and a port that do not belong together: one of them is wrong, and no answer holds before it is known which.
   * @param {Object<string, string>} given
   * @param {any} item the class
   * @returns {string}
   */
  function otherPort(given, item) {
    var danger = refusedAnyhow(dangerOf(given));
    /** @param {string} port @returns {string} */
    function nameOf(port) {
      return words.inlets[port][0];
    }
    return (
      danger +
      show.block(
        "ask_first",
        "Which is right: class or port?",
        "<p><b>" +
          esc(item[0]) +
          "</b> has " +
          esc(item[2].map(nameOf).join(" or ")) +
          ", and the port was said to be " +
          esc(nameOf(given.port)) +
          '.</p><div class="o"><button type="button" class="sq" data-set="class=">It is another class</button><button type="button" class="sq" data-set="port=">It has ' +
          esc(item[2].map(nameOf).join(" or ")) +
          "</button></div>"
      )
    );
  }

  /** @returns {string} */
  function nothing() {
    return show.block(
      "ask_first",
      "No class fits all of that",
      '<p>Leave out what is least sure, or look through <a href="vehicles/index.html">all classes</a>. A port that no class has: its <a href="ports/index.html">own page</a> says which of our cables goes in.</p>'
    );
  }

  /**
   * @param {Object<string, string>} given
   * @param {string} id
   * @param {string} inlet
   * @param {string} rig
   * @returns {any}
   */
  function planOf(given, id, inlet, rig) {
    var call = state.callOf(given, id, inlet, look.rigs[rig], words);
    return { call: call, plan: rangeferry.sheet.plan(call) };
  }

  /** @param {Object<string, string>} given @param {number} mine */
  function answerOne(given, mine) {
    onward = back = false;
    // Steps that were ticked are those of one vehicle with one rig.
    if (ticked_for !== given.rig + " " + given["class"]) ticked = {};
    ticked_for = given.rig + " " + given["class"];
    var id = given["class"],
      item = words.classes[id];
    if (given.port && item[2].indexOf(given.port) < 0)
      return putAll(otherPort(given, item), "The class has another port.");
    var inlet = inletOf(given);
    var found = planOf(given, id, inlet, given.rig);
    var shown = {
      call: found.call,
      plan: found.plan,
      words: words,
      rig: look.rigs[given.rig],
      class_name: item[0],
      drawn: drawn,
      choices: choices,
      given: given,
    };
    var parts = show.whole(shown, given);
    put(parts.top, show.news(shown), show.bar(shown));
    // What is read later comes a moment later: the verdict does not wait for it.
    setTimeout(function () {
      if (mine !== turn) return;
      after(parts.rest(), parts.stay());
      compare(given, id, inlet, mine);
    }, 0);
  }

  /**
   * @param {Object<string, string>} given
   * @param {any} facts
   * @param {string[]} ids
   */
  function answerMany(given, facts, ids) {
    // What a tank would help is asked once the class is known; till then nobody can see what was said of it.
    var asked = Object.assign({}, given, { tank: "yes" });
    var found = known.envelope(
      words,
      ids,
      facts,
      function (/** @type {string} */ id, /** @type {string} */ inlet) {
        return planOf(asked, id, inlet, given.rig).plan;
      },
      passed
    );
    var call = state.callOf(given, ids[0], "", look.rigs[given.rig], words);
    var now = show.manyOf(found, call, given),
      gated = now.gated,
      need_first = now.need_first;
    var head = show.headOfMany(found, call, given);
    var danger = show.openDanger(call);
    var asks_danger = danger.length > 0 && (gated || found.of_all);
    var open = asks_danger
      ? show.notAsked(call)
      : need_first
        ? show.firstOpen(call, given)
        : call.dash.kind === "unknown" && found.served
          ? show.DASH_FIRST
          : found.ask
            ? show.inShort(found.ask)
            : "";
    var sum = now.firm_first || need_first ? "" : show.counts(found, call, given);
    var why = found.verdict === "cannot_serve" && found.reasons.length ? newsOf(found.reasons) : open;
    put(
      show.envelope(found, words, look.rigs[given.rig], choices, call, given),
      why === open ? [show.spoken(head) + "."].concat(now.lines, open || []).join(" ") : why,
      '<span class="v">' +
        show.icon(gated || need_first ? "ask_first" : found.verdict) +
        esc(gated || need_first || found.of_all ? words.verdicts.ask_first : head) +
        "</span>" +
        (sum
          ? "<b>" + esc(sum) + "</b>"
          : "<span>" +
            ids.length +
            (ids.length === 1 ? " class" : " classes") +
            (found.refused && found.verdict !== "cannot_serve" ? ", not all" : "") +
            "</span>") +
        show.barWhy(why.replace(words.verdicts.cannot_serve + ": ", ""))
    );
    after("");
    // Nothing is left to ask here: on to the rows that are next, as the square that stands here would lead.
    var way = onward && need_first && !now.easy ? sheet.querySelector("a[data-rows]") : null;
    onward = false;
    if (way instanceof HTMLElement) goToRow(way);
    else if (!need_first && !now.firm_first && call.dash.kind !== "unknown") comeBack();
  }

  /** The rig is chosen, or all rows that the answer led to: it comes into sight by itself, as the bar would lead. */
  function comeBack() {
    if (!back) return;
    back = false;
    unmark();
    var head = document.getElementById("verdict"),
      at = head ? head.getBoundingClientRect() : null;
    if (!at || at.top < 0 || at.bottom > innerHeight) goTo("answer");
  }

  /**
   * The other rigs, once the answer stands.
   * @param {Object<string, string>} given
   * @param {string} id
   * @param {string} inlet
   * @param {number} mine
   */
  function compare(given, id, inlet, mine) {
    var ids = Object.keys(words.rigs);
    loadAll(ids.map(rigPath), function () {}).then(function (good) {
      if (!good || mine !== turn) return;
      var every = ids.map(function (rig) {
        return { rig: look.rigs[rig], plan: planOf(given, id, inlet, rig).plan };
      });
      compared.innerHTML = show.rigs(every, given.rig, words);
    });
  }

  /**
   * Fills the upper part of the answer; an element that comes out as it was stays: its drawing is what takes longest.
   * @param {string|string[]} html of one element each where there are several
   */
  function fill(html) {
    var parts = typeof html === "string" ? [] : html;
    if (typeof html === "string") sheet.innerHTML = html;
    else if (!filled.length) sheet.innerHTML = "";
    parts.forEach(function (part, at) {
      var before = sheet.children[at];
      if (before && filled[at] === part) return;
      var made = document.createElement("template");
      made.innerHTML = part;
      if (before) before.replaceWith(made.content);
      else sheet.append(made.content);
    });
    while (parts.length && sheet.children.length > parts.length) sheet.children[parts.length].remove();
    filled = parts;
  }

  /**
   * Shows an answer and says it. What stands below it is old until `after` replaces it, and is hidden until then.
   * @param {string|string[]} html
   * @param {string} told
   * @param {string} [of_bar]
   */
  function put(html, told, of_bar) {
    if (!sheet.querySelector(".wait")) opened = unfolded();
    fill(html);
    old(true);
    tick(sheet);
    refold(sheet);
    var at_work = document.activeElement;
    if (refocus && at_work && at_work !== document.body && !answer.contains(at_work)) refocus = false; // gone on elsewhere
    if (refocus) {
      // The button that was touched is gone with the former answer: go on at the new one.
      refocus = false;
      var again = hearing ? answer.querySelector('[data-hear="' + hearing + '"]') : null;
      hearing = "";
      if (again instanceof HTMLElement) again.focus({ preventScroll: true });
      else {
        answer.focus({ preventScroll: true });
        var head = document.getElementById("verdict"),
          at = head ? head.getBoundingClientRect() : null;
        if (!at || at.top < 0 || at.bottom > innerHeight) answer.scrollIntoView({ behavior: "instant" });
      }
    }
    watchHead();
    var told_of = notice + sinceSent();
    if (told_of !== noted) notes.innerHTML = noted = told_of;
    if (told !== news.textContent) news.textContent = told;
    bar.hidden = !of_bar;
    bar.innerHTML = of_bar || "";
  }

  /**
   * Shows what is no answer yet.
   * @param {string} html
   * @param {string} told
   */
  function putAll(html, told) {
    put(html, told);
    after("");
    var head = document.getElementById("verdict");
    bar.hidden = !head;
    if (head)
      bar.innerHTML =
        '<span class="v">' +
        show.icon(sheet.querySelector(".vd.no") ? "cannot_serve" : "ask_first") +
        esc(textOf(head)) +
        "</span>" +
        (sheet.querySelector(".vd.no") ? show.barWhy(told.replace(words.verdicts.cannot_serve + ": ", "")) : "");
  }

  /**
   * Shows what stands below an answer.
   * @param {string} html
   * @param {string} [of_stay]
   */
  function after(html, of_stay) {
    stay.innerHTML = of_stay || "";
    rest.innerHTML = html;
    compared.innerHTML = "";
    old(false);
    var letters = textOf(sheet).length + textOf(stay).length + textOf(rest).length;
    LONG_ANSWERS.forEach(function (most, at) {
      page.classList.toggle("long" + (at + 1), letters > most);
    });
    tick(rest);
    refold(stay);
    refold(rest);
    if (share.open) openShare();
  }

  /**
   * Hides what stands below an answer while it is of the one before.
   * @param {boolean} on
   */
  function old(on) {
    answer.classList.toggle("old", on);
  }

  /** Ticks again what was ticked of this call. @param {HTMLElement} place */
  function tick(place) {
    Array.from(place.querySelectorAll("input[type=checkbox]")).forEach(function (one) {
      /** @type {HTMLInputElement} */ (one).checked = Boolean(ticked[stepOf(one)]);
    });
  }

  /** Shows the bar while the verdict itself is out of sight. */
  function watchHead() {
    var head = document.getElementById("verdict");
    sight.disconnect();
    if (head) sight.observe(head);
  }

  /** Which details are open, by their heads. @returns {string[]} */
  function unfolded() {
    return Array.from(answer.querySelectorAll("details[open]:not(#share)>summary")).map(textOf);
  }

  /** Opens again what was open. @param {HTMLElement} place */
  function refold(place) {
    if (!opened.length) return;
    Array.from(place.querySelectorAll("details>summary")).forEach(function (one) {
      if (opened.indexOf(textOf(one)) >= 0) /** @type {any} */ (one.parentElement).open = true;
    });
  }

  /** @param {Element} element @returns {string} */
  function textOf(element) {
    return element.textContent || "";
  }

  /** @param {Element} box @returns {string} */
  function stepOf(box) {
    return box.nextElementSibling ? textOf(box.nextElementSibling) : "";
  }

  // -------------------------------------------------------------------------------------------- the address, sharing

  /**
   * The address of this call: where the pages stand for everybody, if that is known.
   * @param {Object<string, string>} given
   * @returns {string}
   */
  function address(given) {
    var base = page.dataset.address ? page.dataset.address + "/index.html" : location.href.split("#")[0];
    return base + "#" + state.encode(given, words.data_version);
  }

  /**
   * Keeps the rig that was chosen here, for the next call on this device; one that a link brings is not ours.
   * @param {string} rig
   */
  function remember(rig) {
    chosen_rig = rig;
    try {
      localStorage.setItem(REMEMBERED, rig);
    } catch (error) {
      // A private window may keep nothing: the rig is then chosen anew.
    }
  }

  /**
   * The rig that was chosen on this device, or the only one; empty where nobody has chosen: a mark for the wrong one would
   * look like any other.
   * @returns {string}
   */
  function ours() {
    var all = Object.keys(words.rigs),
      rig = chosen_rig;
    try {
      rig = rig || localStorage.getItem(REMEMBERED) || "";
    } catch (error) {
      // Nothing is kept here: it is chosen once for every visit.
    }
    return all.length === 1 ? all[0] : all.indexOf(rig) >= 0 ? rig : "";
  }

  /**
   * Keeps the call in the address. An answer to another question than the one before is a step that Back takes back.
   * @param {Object<string, string>} given
   * @param {string} of the question that was answered
   */
  function keep(given, of) {
    clearTimeout(kept);
    if (to_keep && of !== answered) keepNow();
    step = step || of !== answered;
    answered = of;
    to_keep = given;
    // As soon as the verdict stands, unless the one before was a moment ago: a page that is left keeps it first.
    kept = window.setTimeout(keepNow, Math.max(kept_at + KEEP_MS - Date.now(), 0));
  }

  /** Writes the call into the address: at the latest when the page is left. */
  function keepNow() {
    clearTimeout(kept);
    if (!to_keep) return;
    kept_at = Date.now();
    try {
      var text = "#" + state.encode(to_keep, words.data_version);
      if (step && text !== location.hash) history.pushState(null, "", text);
      else history.replaceState(null, "", text);
      to_keep = null;
      step = false;
    } catch (error) {
      // The next change writes it.
    }
  }

  /** Whether a link of these pages leads nowhere but on this device. @returns {boolean} */
  function inFolder() {
    return location.protocol === "file:" && !page.dataset.address;
  }

  /** Says that the crew has other answers than these. @returns {string} */
  function sinceSent() {
    return sent && sent !== address(readAll())
      ? '<p class="note np"><b>Changed since it was sent: send it again.</b></p>'
      : "";
  }

  /** Hands the link to whatever the device sends with. */
  function send() {
    var text = address(readAll());
    navigator.share({ url: text }).then(
      function () {
        sent = text;
      },
      function () {
        // Thought better of, or not allowed: the link and its code are shown all the same.
        share.open = true;
      }
    );
  }

  /** Shows the link of this call and its code. */
  function openShare() {
    var given = readAll(),
      text = address(given),
      folder = inFolder();
    var place = /** @type {HTMLElement} */ (share.querySelector(".qc"));
    if (place.dataset.link === text) return; // it stands there already, and somebody may be at its buttons
    place.dataset.link = text;
    place.innerHTML =
      (text.length <= QR_LONGEST && !folder ? rangeferry.qr.svg(text, "QR code of the link") || "" : "") +
      '<div class="shr"><p class="acts"><button type="button" data-copy="share-link">Copy the link</button>' +
      ("share" in navigator && !folder ? '<button type="button" id="share-send">Share</button>' : "") +
      '<button type="button" id="share-print">Print</button></p>' +
      '<label class="vh" for="share-link">Link of this call</label><input id="share-link" type="text" readonly value="' +
      esc(text) +
      '">' +
      '<p class="n">The link carries the answers given, no names. What stands behind its # never leaves the device that opens it' +
      (folder ? "; it opens on this device alone: these pages were opened from a folder" : "") +
      ".</p></div>";
  }

  /** Puts what a printed page needs besides the answer. */
  function beforePrint() {
    var place = byId("print-link"),
      given = readAll(),
      text = address(given),
      folder = inFolder();
    var now = new Date();
    /** @param {number} value @returns {string} */
    function two(value) {
      return (value < 10 ? "0" : "") + value;
    }
    var when =
      now.getFullYear() +
      "-" +
      two(now.getMonth() + 1) +
      "-" +
      two(now.getDate()) +
      " " +
      two(now.getHours()) +
      ":" +
      two(now.getMinutes());
    // The code stands at the upper edge; a link that is too long for one is printed in letters.
    var coded = text.length <= QR_LONGEST && !folder ? rangeferry.qr.svg(text, "QR code of the link") || "" : "";
    page.classList.toggle("coded", Boolean(coded));
    place.innerHTML =
      show.toldBy(given, choices, false) +
      '<div class="qc">' +
      coded +
      "<p>" +
      (coded ? "The code opens this call on a phone with a signal or with these pages kept on it. " : "") +
      "Printed " +
      when +
      ', <span class="dv">data ' +
      esc(words.data_version) +
      "</span>. It plans; it does not certify." +
      (coded || folder ? "" : '<br><span class="any n">' + esc(text) + "</span>") +
      "</p></div>";
  }

  /**
   * Copies the text of an element; where that is not allowed, it is marked to be copied by hand.
   * @param {HTMLElement} button
   */
  function copy(button) {
    var from = byId(/** @type {string} */ (button.dataset.copy)),
      label = button.dataset.label || button.textContent || "";
    button.dataset.label = label;
    var text = from instanceof HTMLInputElement ? from.value : textOf(from);
    /** @param {string} said */
    function say(said) {
      button.style.minWidth = button.offsetWidth + "px"; // no other button comes to where this one stood
      button.textContent = said;
      news.textContent = said;
      setTimeout(function () {
        button.textContent = label;
      }, 2500);
    }
    /** Marks the text. */
    function byHand() {
      if (from instanceof HTMLInputElement) from.select();
      else {
        var range = document.createRange(),
          selection = getSelection();
        range.selectNodeContents(from);
        if (selection) {
          selection.removeAllRanges();
          selection.addRange(range);
        }
      }
      say("Marked: copy it by hand");
    }
    if (!navigator.clipboard) return byHand();
    navigator.clipboard.writeText(text).then(function () {
      if (from.id === "share-link") sent = text;
      say("Copied");
    }, byHand);
  }

  // ---------------------------------------------------------------------------------------------- classes by words

  /** @param {Object<string, string>} given */
  function findClasses(given) {
    var typed = finder.value,
      list = byId("find-list"),
      told = byId("find-told");
    if (given["class"] || !typed.trim()) {
      list.innerHTML = "";
      told.textContent = given["class"]
        ? ""
        : "Such as “small hatch”, “pickup”, “city car”. Or by what is known of it:";
      return;
    }
    var may_be = known.matching(words, factsOf(given));
    var found = known.find(words, typed).filter(function (/** @type {string} */ id) {
      return may_be.indexOf(id) >= 0;
    });
    told.textContent = found.length
      ? found.length +
        (found.length === 1 ? " class" : " classes") +
        (found.length > FOUND_SHOWN ? ", the first " + FOUND_SHOWN + ": one word more leaves fewer" : "") +
        ": touch the one it is."
      : "No class has all of these words" +
        (may_be.length < Object.keys(words.classes).length ? " and what is chosen below." : ".") +
        " Makes and models are not among them: say what it looks like, or its port.";
    list.innerHTML = found
      .slice(0, FOUND_SHOWN)
      .map(function (/** @type {string} */ id) {
        return (
          '<button type="button" class="sq" data-set="' +
          esc("class=" + id) +
          '">' +
          "<span>" +
          esc(words.classes[id][0]) +
          "<small>" +
          esc(lookOf(words.classes[id])) +
          "</small></span></button>"
        );
      })
      .join("");
  }

  /** By what a class is told from its like: ports and years. @param {any} item @returns {string} */
  function lookOf(item) {
    var ports = item[2].map(function (/** @type {string} */ port) {
      return words.inlets[port][0].replace(/ inlet$/, "");
    });
    return ports.join(" or ") + "; " + show.built(item);
  }

  // --------------------------------------------------------------------------------------------------------- events

  /**
   * Answers again, and keeps it: what a link said stands in the address until somebody has answered otherwise.
   * @param {string} of the question
   */
  function changed(of) {
    keep(readAll(), of);
    ask();
  }

  /** @param {HTMLElement} button */
  function set(button) {
    var parts = /** @type {string} */ (button.dataset.set).split("=");
    var top = answer.getBoundingClientRect().top;
    write(parts[0], parts[1]);
    refocus = answer.contains(button);
    onward = refocus && state.KNOWN.indexOf(parts[0]) >= 0;
    back = false;
    hearing = button.dataset.hear || "";
    if (parts[0] === "rig") remember(parts[1]);
    if (button.dataset.also) write.apply(null, /** @type {[string, string]} */ (button.dataset.also.split("=")));
    if (parts[0] === "class") {
      finder.value = "";
      passed = {};
      if (button.dataset.port) write("port", button.dataset.port);
    }
    // Each answer about danger is one to go back to by itself.
    changed(parts[0] === "danger" ? button.dataset.set || "" : parts[0]);
    // Rows of the form that open above the answer for what was touched in it do not push it away.
    var moved = answer.getBoundingClientRect().top - top;
    if (refocus && moved) scrollBy({ top: moved, behavior: "instant" });
    if (parts[0] === "class" && !refocus) {
      // The list is gone, and what stood below it has moved up: go on beside the class that was chosen.
      var beside = byId("q-vehicle");
      if (beside.getBoundingClientRect().top < 0) beside.scrollIntoView({ behavior: "instant" });
      byId("other-class").focus({ preventScroll: true });
    }
  }

  /** Whether a touch is the second of two that were meant for one square. @param {MouseEvent} event @returns {boolean} */
  function isTwice(event) {
    return (
      event.timeStamp - touched.at < TWICE_MS &&
      Math.abs(event.clientX - touched.x) < TWICE_PX &&
      Math.abs(event.clientY - touched.y) < TWICE_PX
    );
  }

  /** Takes the marks off the rows that were jumped to. */
  function unmark() {
    Array.from(form.querySelectorAll(".here")).forEach(function (row) {
      row.classList.remove("here");
    });
  }

  /**
   * Marks a row of the form, and with it all others that were asked for beside it: the eye goes from one to the next.
   * @param {HTMLElement} way
   */
  function mark(way) {
    var beside = way.closest(".gr");
    var names = (way.dataset.rows || way.dataset.go || "").split(" ");
    if (beside)
      Array.from(beside.querySelectorAll("[data-go]")).forEach(function (other) {
        names.push(/** @type {HTMLElement} */ (other).dataset.go || "");
      });
    if (names.indexOf("home") >= 0) names.push("climb");
    names.forEach(function (name) {
      var row = form.querySelector('[data-row="' + name + '"]');
      if (row && !row.closest("details:not([open])")) row.classList.add("here");
    });
  }

  /** @param {string} id */
  function goTo(id) {
    var target = document.getElementById(id);
    if (!target) return;
    target.scrollIntoView({ behavior: "instant" }); // what glides is touched where it no longer is
    if (target === answer) answer.scrollTop = 0; // where it scrolls by itself
    if (!target.hasAttribute("tabindex")) target.setAttribute("tabindex", "-1");
    target.focus({ preventScroll: true });
  }

  /**
   * Goes to a row of the form, or to the first of several.
   * @param {HTMLElement} way that names it
   */
  function goToRow(way) {
    var target = form.querySelector('[data-row="' + way.dataset.go + '"]');
    if (!target) return;
    unfold(/** @type {HTMLElement} */ (target));
    // Its question stands above it; of several rows the first question, so that all of them are in sight.
    var from = (way.dataset.rows && target.closest('[id^="q-"]')) || target;
    from.scrollIntoView({ behavior: "instant", block: from === target ? "center" : "start" });
    var input = /** @type {HTMLElement|null} */ (target.querySelector("input,select"));
    if (input) input.focus({ preventScroll: true });
    // No ring is drawn round a square that a finger led to: its row is marked until the answer is gone back to.
    mark(way);
  }

  /** @param {HTMLElement} button */
  function add(button) {
    var field = /** @type {HTMLInputElement} */ (
      /** @type {HTMLElement} */ (button.parentElement).querySelector("input")
    );
    var step = Number(button.dataset.add),
      size = Math.abs(step),
      now = Number(wholeOf(field)) || 0;
    var next = step > 0 ? size * Math.floor(now / size + 1) : size * Math.ceil(now / size - 1);
    // Below the least there is only: not asked.
    var none = step < 0 && (!field.value || next < Number(field.dataset.least));
    field.value = none ? "" : String(Math.min(next, Number(field.dataset.most)));
    if (none && read("need") === field.name) write("need", "usual");
    if (field.name === "percent") write("dash", none ? "unknown" : "percent");
    if ((field.name === "home" || field.name === "charger") && !none && read("need") === "usual")
      write("need", field.name);
    if (Number(read("bars")) > Number(read("of"))) write("bars", read("of"));
    onward = back = false;
    changed(field.name);
  }

  /** Reads the address, and what the device remembers. @param {boolean} first */
  function open(first) {
    var text = location.hash,
      has = text.indexOf("=") > 0;
    if (!has && !first && text.length > 1) return; // a place in the page
    // Of the call that stood here before:
    ticked = {};
    passed = {};
    clearTimeout(kept);
    to_keep = null;
    answered = "";
    step = false;
    var said = state.decode(has ? text : "", offered());
    // A rig of a link that these pages do not know is not to be taken for the one of this device.
    var no_rig = said.left.some(function (/** @type {[string, string]} */ one) {
      return one[0] === "rig";
    });
    if (!said.answers.rig && !no_rig) said.answers.rig = ours();
    rig_box.open = !said.answers.rig;
    writeAll(said.answers);
    notice = has ? noticeOf(said) : "";
    // A way in from the page of a class says no version: nobody has sent it.
    if (has && first && said.form !== null && said.answers["class"]) {
      page.classList.add("sent");
      page.insertBefore(answer, page.firstElementChild);
    }
    ask();
  }

  /**
   * What has to be told of an address that was opened.
   * @param {any} said
   * @returns {string}
   */
  function noticeOf(said) {
    var lines = [];
    if (said.form !== null && said.form !== state.FORM)
      lines.push(
        "This link was made by other pages than these; what they know of it is shown. Go through the questions again."
      );
    if (said.data !== null && said.data !== words.data_version)
      lines.push(
        "This link was made with data " +
          said.data.slice(0, 20) +
          "; these pages have " +
          words.data_version +
          ". Figures may differ from those that were told: read them here."
      );
    if (said.left.length) {
      lines.push(
        "Not used, since these pages do not know it: " +
          said.left
            .map(function (/** @type {[string, string]} */ one) {
              return one[0] + (one[1] ? " “" + one[1] + "”" : "");
            })
            .join(", ") +
          "."
      );
    }
    return lines
      .map(function (line) {
        return '<p class="note"><b>' + esc(line) + "</b></p>";
      })
      .join("");
  }

  form.addEventListener("submit", function (event) {
    event.preventDefault();
  });
  form.addEventListener("input", function (event) {
    var field = /** @type {HTMLInputElement} */ (event.target);
    if (field === finder) return findClasses(readAll());
    if (field.dataset.most) {
      // A point stays while the field is written in: taken out at once, the next figure would stand before it.
      var typed = field.value.replace(/[^\d.,]/g, "");
      if (Number(typed.replace(/[.,].*$/, "")) > Number(field.dataset.most)) typed = field.dataset.most;
      if (typed !== field.value) field.value = typed;
    }
    if (field.name === "rig") remember(field.value);
    // No more bars are lit than there are.
    if ((field.name === "bars" || field.name === "of") && Number(read("bars")) > Number(read("of")) && read("of"))
      write("bars", read("of"));
    // A number that is typed says which kind is meant, one that is taken back no longer.
    if (field.name === "percent") write("dash", field.value ? "percent" : "unknown");
    if ((field.name === "home" || field.name === "charger") && !field.value && read("need") === field.name)
      write("need", "usual");
    if ((field.name === "home" || field.name === "charger") && field.value && read("need") === "usual")
      write("need", field.name);
    // A list is closed with its choice; a number may have more figures, and a key goes through a list step by step.
    var row = field.closest("[data-row]");
    onward = false;
    var led = field.name === "rig" || (field.tagName === "SELECT" && Boolean(row && row.classList.contains("here")));
    back = led && !by_key;
    changed(field.name === "danger" ? "danger=" + field.value : field.name);
  });
  form.addEventListener("keydown", function (event) {
    var row = /** @type {HTMLElement} */ (event.target).closest(".here[data-row]");
    if (event.key !== "Enter" || event.isComposing || !row || !(event.target instanceof HTMLInputElement)) return;
    // Of the rows that the answer led to, on to the next; after the last back to the answer.
    event.preventDefault();
    var rows = Array.from(form.querySelectorAll(".here[data-row]")).filter(function (one) {
      return one.getClientRects().length > 0;
    });
    var next = rows[rows.indexOf(row) + 1];
    var field = next && /** @type {HTMLElement|null} */ (next.querySelector("input,select"));
    if (field) field.focus();
    else goTo("answer");
  });
  addEventListener("keydown", function () {
    by_key = true;
  });
  addEventListener("pointerdown", function () {
    by_key = false;
  });
  finder.addEventListener("keydown", function (event) {
    if (event.key !== "Enter" || event.isComposing) return;
    event.preventDefault();
    // One is taken; of several, which one is for whoever is asking to say.
    var found = byId("find-list").querySelectorAll("button");
    if (found.length === 1) found[0].click();
    else if (found.length) found[0].focus();
  });
  finder.addEventListener("keydown", function (event) {
    var first = byId("find-list").querySelector("button");
    if (event.key !== "ArrowDown" || !first) return;
    event.preventDefault();
    first.focus();
  });
  page.addEventListener("click", function (event) {
    var button = /** @type {HTMLElement} */ (event.target).closest("button,a[data-go],a[href^='#']");
    // A double touch: what is next, here or in the form, has come to where the question before stood. A key is never one.
    if (event.detail > 0 && isTwice(event)) {
      event.preventDefault();
      return;
    }
    if (!form.contains(/** @type {HTMLElement} */ (event.target))) unmark();
    if (!(button instanceof HTMLElement)) return;
    if (button instanceof HTMLAnchorElement && !button.dataset.go) {
      // The part behind the # holds the call: a way within the page must not take its place.
      event.preventDefault();
      goTo(button.hash.slice(1));
      return;
    }
    var of_answer = answer.contains(button) && Boolean(button.dataset.set || button.dataset.pass);
    if (of_answer) touched = { at: event.timeStamp, x: event.clientX, y: event.clientY };
    if (button.dataset.pass) {
      passed[button.dataset.pass] = true;
      refocus = onward = true;
      back = false;
      changed("");
    } else if (button.dataset.set) set(button);
    else if (button.dataset.add) add(button);
    else if (button.dataset.copy) copy(button);
    else if (button.dataset.go) {
      event.preventDefault();
      goToRow(button);
    } else if (button.id === "new-call" || button.classList.contains("new")) {
      // A rig that a link brought goes with its call; the one of this device stays.
      var rig = ours();
      writeAll(Object.assign(state.blank(), { rig: rig }));
      notice = "";
      page.classList.remove("sent");
      page.insertBefore(answer, bar);
      finder.value = "";
      ticked = {};
      passed = {};
      rig_box.open = !rig;
      sent = "";
      changed("new call");
      page.scrollIntoView();
      byId(rig ? "q-vehicle" : "q-rig").focus({ preventScroll: true });
    } else if (button.id === "other-class") {
      write("class", "");
      changed("class");
      finder.focus();
    } else if (button.id === "load-again") location.reload();
    else if (button.id === "share-print") window.print();
    else if (button.id === "share-send") send();
    else if (button.id === "send") {
      if ("share" in navigator && !inFolder()) send();
      else {
        share.open = true;
        openShare();
        share.scrollIntoView({ behavior: "instant" });
        /** @type {HTMLElement} */ (share.querySelector("[data-copy]")).focus({ preventScroll: true });
      }
    }
  });
  share.addEventListener("toggle", function () {
    if (!share.open) return;
    openShare();
    share.scrollIntoView({ behavior: "instant", block: "nearest" }); // the code is what it was opened for
  });
  answer.addEventListener("change", function (event) {
    var box = /** @type {HTMLInputElement} */ (event.target);
    if (box.type === "checkbox") ticked[stepOf(box)] = box.checked;
  });
  document.addEventListener("click", function (event) {
    // So must the way past the head of the page: it stands outside.
    var skip = /** @type {HTMLElement} */ (event.target).closest("a.skip");
    if (!(skip instanceof HTMLAnchorElement)) return;
    event.preventDefault();
    goTo(skip.hash.slice(1));
  });
  addEventListener("pagehide", function () {
    step = false; // what is left is no step to go back to
    keepNow();
  });
  addEventListener("beforeprint", beforePrint);
  addEventListener("hashchange", function () {
    open(false);
  });
  open(true);
})();
