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
  var FOUND_SHOWN = 8; // classes by words
  var FIRST_PORTS = 5; // the ones most met
  var AT_ONCE = 6; // tables that are loaded side by side
  var QR_LONGEST = 900; // letters that a phone's camera still reads off a screen
  var LONG_ANSWER = 10500; // letters that still print on one page in letters of the usual size
  var KEEP_MS = 400; // some browsers allow no more than so many changes of an address in a while

  var page = byId("call-page"),
    form = /** @type {HTMLFormElement} */ (byId("call")),
    answer = byId("answer");
  var sheet = byId("sheet"),
    rest = byId("rest"),
    compared = byId("compared"),
    notes = byId("notes"),
    bar = byId("bar"),
    news = byId("news");
  var share = /** @type {HTMLDetailsElement} */ (byId("share"));
  var finder = /** @type {HTMLInputElement} */ (byId("find-class"));
  var chosen_class = "";
  /** @type {Object<string, Promise<boolean>>} */
  var loading = {};
  var turn = 0; // of the answers: one that was overtaken is not shown
  var kept = 0; // a timer
  /** @type {Object<string, boolean>} */
  var ticked = {}; // steps, by their words
  /** @type {string[]} */
  var opened = []; // details of the answer that is being replaced
  var refocus = false;
  var notice = ""; // about the address that was opened
  var drawn = rangeferry.paths || {};

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
    if (found[0].type !== "radio") return found[0].value.trim();
    var on = /** @type {HTMLInputElement[]} */ (found).filter(function (one) {
      return one.checked;
    })[0];
    return on ? on.value : "";
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
    if (folded) folded.open = true;
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
    row("percent", given.dash === "percent");
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
    row("open", !rig || rig.engine);
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
      there = 0,
      good = true;
    /** @returns {Promise<void>} */
    function one() {
      if (next >= paths.length) return Promise.resolve();
      var path = paths[next];
      next += 1;
      return load(path).then(function (fine) {
        good = good && fine;
        there += 1;
        told(there);
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
    var facts = { port: given.port, body: given.body, built: given.built, battery: given.battery, door: given.door };
    var some = state.KNOWN.some(function (/** @type {string} */ name) {
      return given[name];
    });
    var ids = given["class"] ? [given["class"]] : some ? known.matching(words, facts) : [];
    fit(given);
    findClasses(given);
    keep(given);
    if (!given.rig) return Promise.resolve(putAll(empty("No rig is in the data."), ""));
    var paths = [rigPath(given.rig)].concat(ids.map(classPath));
    var missing = paths.filter(function (path) {
      return !(path in loading);
    }).length;
    if (missing) wait(paths.length);
    return loadAll(paths, function (there) {
      var waiting = sheet.querySelector(".wait");
      if (mine === turn && waiting) waiting.textContent = "Reading tables: " + there + " of " + paths.length;
    })
      .then(function (good) {
        if (mine !== turn) return;
        fit(given);
        if (look.renewed())
          putAll(
            empty(
              "These pages were renewed on the server while this one was open. Load the page again: the call stays in its address."
            ) + '<p class="acts"><button type="button" id="load-again">Load again</button></p>',
            "Load the page again."
          );
        else if (!good)
          putAll(
            empty(
              "A table could not be read: no answer before all of them are there. Look at the connection, then change any answer to try again."
            ),
            ""
          );
        else if (given["class"]) answerOne(given, mine);
        else if (!some) {
          var danger = refusedAnyhow(given);
          putAll(danger || start(), danger ? words.verdicts.cannot_serve + ": " + refusals(given)[0].text : "");
        } else if (!ids.length) putAll(nothing(), "No class fits all of that.");
        else answerMany(given, facts, ids);
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

  /**
   * Takes the former answer away while tables are read: it is of another call.
   * @param {number} count
   */
  function wait(count) {
    if (!sheet.querySelector(".wait")) opened = unfolded();
    sheet.innerHTML = '<p class="wait lead">Reading tables: 0 of ' + count + "</p>";
    rest.classList.add("stale");
    compared.classList.add("stale");
    bar.hidden = true;
  }

  /** @param {string} text @returns {string} */
  function empty(text) {
    return '<p class="lead">' + esc(text) + "</p>";
  }

  /**
   * What place and vehicle forbid whichever class it is: told at once, before anybody asks which.
   * @param {Object<string, string>} given
   * @returns {any[]}
   */
  function refusals(given) {
    var rig = look.rigs[given.rig];
    var call = state.callOf(given, "", "", rig, words);
    return rangeferry.sheet.rulings(call, rig, { dead: false }, rig.reach_m).filter(function (/** @type {any} */ one) {
      return one.level === "refuse";
    });
  }

  /** @param {Object<string, string>} given @returns {string} */
  function refusedAnyhow(given) {
    var told = refusals(given).map(function (one) {
      return "<p>" + esc(one.text) + "</p>";
    });
    return told.length ? show.block("cannot_serve", words.verdicts.cannot_serve, told.join("")) : "";
  }

  /** @returns {string} */
  function start() {
    return show.block(
      "ask_first",
      "Which vehicle is it?",
      "<p>Type its class, or say what is known: the port by its picture, the body, how old. The answer narrows as facts come in.</p>" +
        '<div class="o">' +
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
    var id = given["class"],
      item = words.classes[id];
    var inlet = item[2].length > 1 && item[2].indexOf(given.port) >= 0 ? given.port : "";
    var found = planOf(given, id, inlet, given.rig);
    var shown = {
      call: found.call,
      plan: found.plan,
      words: words,
      rig: look.rigs[given.rig],
      class_name: item[0],
      drawn: drawn,
      choices: choices,
    };
    var parts = show.whole(shown, given);
    put(parts.top, show.news(found.plan, words), show.bar(found.plan, words));
    // What is read later comes a moment later: the verdict does not wait for it.
    setTimeout(function () {
      if (mine !== turn) return;
      after(parts.rest());
      compare(given, id, inlet, mine);
    }, 0);
  }

  /**
   * @param {Object<string, string>} given
   * @param {any} facts
   * @param {string[]} ids
   */
  function answerMany(given, facts, ids) {
    var asked = given.tank ? given : Object.assign({}, given, { tank: "yes" }); // what a tank would help is asked once the class is known
    var found = known.envelope(words, ids, facts, function (/** @type {string} */ id, /** @type {string} */ inlet) {
      return planOf(asked, id, inlet, given.rig).plan;
    });
    var head = words.verdicts[found.verdict] + (found.ask ? ": " + found.ask.question : "");
    var all = found.of_all && !found.refused ? "can charge all " : "";
    put(
      show.envelope(found, words, look.rigs[given.rig], choices),
      head,
      '<span class="v">' +
        show.icon(found.verdict) +
        esc(words.verdicts[found.verdict]) +
        "</span><span>" +
        all +
        ids.length +
        " classes</span>"
    );
    after("");
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
   * Shows an answer and says it. What stands below it is old until `after` replaces it, and is hidden until then.
   * @param {string} html
   * @param {string} told
   * @param {string} [of_bar]
   */
  function put(html, told, of_bar) {
    if (!sheet.querySelector(".wait")) opened = unfolded();
    sheet.innerHTML = html;
    rest.classList.add("stale");
    compared.classList.add("stale");
    refold(sheet);
    if (refocus) {
      // The button that was touched is gone with the former answer: go on at the new one.
      refocus = false;
      answer.focus({ preventScroll: true });
      if (answer.getBoundingClientRect().top < 0) answer.scrollIntoView();
    }
    if (notes.innerHTML !== notice) notes.innerHTML = notice;
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
  }

  /**
   * Shows what stands below an answer.
   * @param {string} html
   */
  function after(html) {
    rest.innerHTML = html;
    compared.innerHTML = "";
    rest.classList.remove("stale");
    compared.classList.remove("stale");
    page.classList.toggle("long", textOf(sheet).length + textOf(rest).length > LONG_ANSWER);
    Array.from(rest.querySelectorAll(".ck input")).forEach(function (one) {
      /** @type {HTMLInputElement} */ (one).checked = Boolean(ticked[stepOf(one)]);
    });
    refold(rest);
    if (share.open) openShare();
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
    try {
      localStorage.setItem(REMEMBERED, rig);
    } catch (error) {
      // A private window may keep nothing: the rig is then chosen anew.
    }
  }

  /** @param {Object<string, string>} given */
  function keep(given) {
    clearTimeout(kept);
    kept = window.setTimeout(function () {
      try {
        history.replaceState(null, "", "#" + state.encode(given, words.data_version));
      } catch (error) {
        // The next change writes it.
      }
    }, KEEP_MS);
  }

  /** Shows the link of this call and its code. */
  function openShare() {
    var given = readAll(),
      text = address(given),
      folder = location.protocol === "file:" && !page.dataset.address;
    var place = /** @type {HTMLElement} */ (share.querySelector(".qc"));
    place.innerHTML =
      (text.length <= QR_LONGEST && !folder ? rangeferry.qr.svg(text, "QR code of the link") || "" : "") +
      '<div class="shr"><p class="acts"><button type="button" data-copy="share-link">Copy the link</button>' +
      ("share" in navigator && !folder ? '<button type="button" id="share-send">Share</button>' : "") +
      '<button type="button" id="share-print">Print</button></p>' +
      '<label class="vh" for="share-link">Link of this call</label><input id="share-link" type="text" readonly value="' +
      esc(text) +
      '">' +
      '<p class="n">The link carries the answers given, no names. What stands behind its # never leaves the phone that opens it' +
      (folder ? "; it opens on this device alone: these pages were opened from a folder" : "") +
      ".</p></div>";
  }

  /** Puts what a printed page needs besides the answer. */
  function beforePrint() {
    var place = byId("print-link"),
      given = readAll(),
      text = address(given),
      folder = location.protocol === "file:" && !page.dataset.address;
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
    place.innerHTML =
      '<div class="qc">' +
      (text.length <= QR_LONGEST && !folder ? rangeferry.qr.svg(text, "QR code of the link") || "" : "") +
      "<p>Printed " +
      when +
      ", data " +
      esc(words.data_version) +
      ". It plans; it does not certify." +
      (folder ? "" : '<br><span class="any n">' + esc(text) + "</span>") +
      "</p></div>";
  }

  /**
   * Copies the text of an element; where that is not allowed, it is marked to be copied by hand.
   * @param {HTMLElement} button
   */
  function copy(button) {
    var from = byId(/** @type {string} */ (button.dataset.copy)),
      label = button.textContent;
    var text = from instanceof HTMLInputElement ? from.value : textOf(from);
    /** @param {string} said */
    function say(said) {
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
    var found = known.find(words, typed);
    told.textContent = found.length
      ? found.length +
        (found.length === 1 ? " class" : " classes") +
        (found.length > FOUND_SHOWN ? ", the first " + FOUND_SHOWN : "")
      : "No class has all of these words.";
    list.innerHTML = found
      .slice(0, FOUND_SHOWN)
      .map(function (/** @type {string} */ id) {
        return (
          '<button type="button" class="sq" data-set="' +
          esc("class=" + id) +
          '">' +
          esc(words.classes[id][0]) +
          "</button>"
        );
      })
      .join("");
  }

  // --------------------------------------------------------------------------------------------------------- events

  /** Answers again. */
  function changed() {
    notice = "";
    ask();
  }

  /** @param {HTMLElement} button */
  function set(button) {
    var parts = /** @type {string} */ (button.dataset.set).split("=");
    write(parts[0], parts[1]);
    refocus = answer.contains(button) || parts[0] === "class";
    if (parts[0] === "rig") remember(parts[1]);
    if (parts[0] === "class") {
      finder.value = "";
      if (button.dataset.port) write("port", button.dataset.port);
    }
    changed();
  }

  /** @param {string} id */
  function goTo(id) {
    var target = document.getElementById(id);
    if (!target) return;
    target.scrollIntoView();
    if (!target.hasAttribute("tabindex")) target.setAttribute("tabindex", "-1");
    target.focus({ preventScroll: true });
  }

  /** @param {HTMLElement} button */
  function add(button) {
    var field = /** @type {HTMLInputElement} */ (
      /** @type {HTMLElement} */ (button.parentElement).querySelector("input")
    );
    var step = Number(button.dataset.add),
      size = Math.abs(step),
      now = Number(field.value) || 0;
    var next = step > 0 ? size * Math.floor(now / size + 1) : size * Math.ceil(now / size - 1);
    next = Math.min(Math.max(next, Number(field.dataset.least)), Number(field.dataset.most));
    field.value = String(next);
    changed();
  }

  /** Reads the address, and what the device remembers. @param {boolean} first */
  function open(first) {
    var text = location.hash,
      has = text.indexOf("=") > 0;
    if (!has && !first) return;
    var said = state.decode(has ? text : "", offered());
    var rig = "";
    try {
      rig = localStorage.getItem(REMEMBERED) || "";
    } catch (error) {
      rig = "";
    }
    if (!said.answers.rig)
      said.answers.rig = Object.prototype.hasOwnProperty.call(words.rigs, rig) ? rig : Object.keys(words.rigs)[0] || "";
    writeAll(said.answers);
    notice = has ? noticeOf(said) : "";
    if (has && said.answers["class"]) page.classList.add("sent");
    if (has && first && said.answers["class"]) page.insertBefore(answer, page.firstElementChild);
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
    if (field.dataset.most) field.value = field.value.replace(/\D/g, "");
    if (field.dataset.most && field.value && Number(field.value) > Number(field.dataset.most))
      field.value = field.dataset.most;
    if (field.name === "rig") remember(field.value);
    // A number that is typed says which kind is meant.
    if ((field.name === "home" || field.name === "charger") && field.value && read("need") === "usual")
      write("need", field.name);
    changed();
  });
  finder.addEventListener("keydown", function (event) {
    if (event.key !== "Enter" || event.isComposing) return;
    event.preventDefault();
    var first = /** @type {HTMLElement|null} */ (byId("find-list").querySelector("button"));
    if (first) first.click();
  });
  page.addEventListener("click", function (event) {
    var button = /** @type {HTMLElement} */ (event.target).closest("button,a[data-go],a[href^='#']");
    if (!(button instanceof HTMLElement)) return;
    if (button instanceof HTMLAnchorElement && !button.dataset.go) {
      // The part behind the # holds the call: a way within the page must not take its place.
      event.preventDefault();
      goTo(button.hash.slice(1));
      return;
    }
    if (button.dataset.set) set(button);
    else if (button.dataset.add) add(button);
    else if (button.dataset.copy) copy(button);
    else if (button.dataset.go) {
      event.preventDefault();
      var target = form.querySelector('[data-row="' + button.dataset.go + '"]');
      if (target) {
        unfold(/** @type {HTMLElement} */ (target));
        target.scrollIntoView();
        var input = /** @type {HTMLElement|null} */ (target.querySelector("input,select"));
        if (input) input.focus();
      }
    } else if (button.id === "new-call") {
      var rig = read("rig");
      writeAll(Object.assign(state.blank(), { rig: rig }));
      finder.value = "";
      ticked = {};
      changed();
      form.scrollIntoView();
    } else if (button.id === "other-class") {
      write("class", "");
      changed();
      finder.focus();
    } else if (button.id === "load-again") location.reload();
    else if (button.id === "share-print") window.print();
    else if (button.id === "share-send") navigator.share({ url: address(readAll()) }).catch(function () {});
  });
  share.addEventListener("toggle", function () {
    if (share.open) openShare();
  });
  answer.addEventListener("change", function (event) {
    var box = /** @type {HTMLInputElement} */ (event.target);
    if (box.type === "checkbox") ticked[stepOf(box)] = box.checked;
  });
  addEventListener("beforeprint", beforePrint);
  addEventListener("hashchange", function () {
    open(false);
  });
  open(true);
})();
