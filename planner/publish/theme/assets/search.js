// The search field. The index and the worker are fetched when somebody first wants them; nothing is asked of anyone
// else. Classic script without imports, so that it also runs in pages opened from a folder.
(function () {
  "use strict";

  /**
   * A part of a page as the worker finds it.
   * @typedef {{location: string, title: string, text: string, score: number}} Section
   */
  /** @typedef {{type: number, data: any}} Message */

  var SETUP = 0, READY = 1, QUERY = 2, RESULT = 3; // the worker's message types
  var SHOWN = 12;
  var SHORT_WORD = /(^|\s)([a-z0-9]{2})(?=\s|$)/gi; // asked for as it stands: "co" is not the beginning of "compact"
  var LITTLE = / (in|on|of|to|at|is|it|no|or|an|as|by|my|we) /; // says nothing of a page: no page is asked to hold it
  var own = /** @type {HTMLScriptElement} */ (document.currentScript);
  var root = new URL(own.dataset.root + "/", document.baseURI);
  var inFolder = location.protocol === "file:";
  var form = /** @type {HTMLFormElement} */ (document.querySelector("form[role=search]"));
  var field = /** @type {HTMLInputElement} */ (form.querySelector("input"));
  var panel = /** @type {HTMLElement} */ (document.getElementById("found"));
  var list = /** @type {HTMLElement} */ (document.getElementById("found-list"));
  var count = /** @type {HTMLElement} */ (document.getElementById("found-count"));
  /** @type {(message: Message) => void} */
  var send; // posts a message to the worker, once there is one
  var IDLE = 0, STARTING = 1, READY_TO_ASK = 2, BROKEN = 3;
  var state = IDLE;
  var wanted = false; // somebody pressed Enter before the answer was there
  var pending = 0; // questions not answered yet: only the answer to the last one is shown

  form.hidden = false;

  /** @param {string} path @returns {Promise<unknown>} */
  function script(path) {
    return new Promise(function (done, failed) {
      var element = document.createElement("script");
      element.src = new URL(path, root).href;
      element.onload = done;
      element.onerror = failed;
      document.head.append(element);
    });
  }

  /** The index of all pages. @returns {Promise<any>} */
  function index() {
    if (inFolder) {
      return script("search/search_index.js").then(function () {
        return /** @type {any} */ (window).__index;
      });
    }
    return fetch(new URL("search/search_index.json", root)).then(function (answer) {
      if (!answer.ok) throw new Error(String(answer.status));
      return answer.json();
    });
  }

  /** What posts a message to the worker, once it can hear. @returns {Promise<(message: Message) => void>} */
  function worker() {
    if (!inFolder) {
      var real = new Worker(new URL("search/worker.js", root));
      real.onerror = broken;
      real.onmessage = function (event) {
        heard(event.data);
      };
      return Promise.resolve(function (message) {
        real.postMessage(message);
      });
    }
    return new Promise(function (done) {
      var frame = document.createElement("iframe");
      frame.hidden = true;
      frame.title = "Search";
      frame.src = new URL("search/frame.html", root).href;
      addEventListener("message", function (event) {
        if (event.source === frame.contentWindow) heard(event.data);
      });
      frame.onload = function () {
        done(function (message) {
          /** @type {Window} */ (frame.contentWindow).postMessage(message, "*");
        });
      };
      document.body.append(frame);
    });
  }

  // Fetches index and worker once; after a failure the next key tries again.
  function start() {
    if (state !== IDLE && state !== BROKEN) return;
    state = STARTING;
    Promise.all([index(), worker()]).then(function (parts) {
      send = parts[1];
      send({ type: SETUP, data: { config: parts[0].config, docs: parts[0].docs, options: { suggest: false } } });
    }, broken);
  }

  function broken() {
    state = BROKEN;
    pending = 0;
    wanted = false;
    count.textContent = "The search could not be read. The lists of vehicles, rigs and ports have everything.";
  }

  /** @param {Message} message */
  function heard(message) {
    if (message.type === READY) {
      state = READY_TO_ASK;
      ask();
    } else if (message.type === RESULT) {
      pending -= 1;
      if (pending <= 0) show(message.data.items);
    }
  }

  function ask() {
    var words = field.value.trim();
    if (!words) {
      list.replaceChildren();
      count.textContent = "Type a class, a port, a year or a word.";
    } else if (state === READY_TO_ASK) {
      pending += 1;
      send({ type: QUERY, data: asked(words) });
    } else if (state !== BROKEN) {
      count.textContent = "Reading the index ...";
    }
  }

  /**
   * What is asked of the index: short words as they stand, little ones left out unless there is nothing else.
   * @param {string} words @returns {string}
   */
  function asked(words) {
    var found = words.replace(SHORT_WORD, function (all, gap, word) {
      return LITTLE.test(" " + word.toLowerCase() + " ") ? gap : gap + "+" + word;
    });
    return found.trim() ? found : words.replace(SHORT_WORD, "$1+$2");
  }

  /**
   * The index holds escaped HTML. It is parsed into a document of its own, where nothing runs, and only its text and
   * its <mark>s are taken over.
   * @param {string} html @returns {DocumentFragment}
   */
  function marked(html) {
    var source = new DOMParser().parseFromString(html, "text/html").body;
    var result = document.createDocumentFragment();
    source.querySelectorAll("mark").forEach(function (mark) {
      mark.replaceWith("\u0001" + mark.textContent + "\u0002");
    });
    (source.textContent || "").split("\u0001").forEach(function (piece, number) {
      var parts = piece.split("\u0002");
      if (number && parts.length > 1) {
        var mark = document.createElement("mark");
        mark.textContent = parts.shift() || "";
        result.append(mark);
      }
      result.append(parts.join(""));
    });
    return result;
  }

  /** @param {string} html @returns {string} */
  function shorter(html) {
    var text = html.replace(/<\/(p|li)>/g, " ").replace(/<(?!\/?mark\b)[^>]*>/g, "").trim();
    if (text.length <= 150) return text;
    return text.slice(0, 150).replace(/<[^>]*$|\s+\S*$|&[^;]*$/, "") + " ...";
  }

  /** @param {Section[][]} pages by page, its best section first */
  function show(pages) {
    var words = field.value.trim();
    if (!words) return;
    var found = pages.filter(function (sections) {
      return sections.some(function (section) {
        return section.score > 0;
      });
    });
    panel.dataset.answered = words;
    list.replaceChildren();
    found.slice(0, SHOWN).forEach(function (sections) {
      var best = sections[0];
      var page = sections.find(function (section) {
        return section.location.indexOf("#") < 0;
      });
      var item = document.createElement("li");
      var link = document.createElement("a");
      link.href = new URL(best.location, root).href;
      link.append(marked(page ? page.title : best.title));
      item.append(link);
      var note = document.createElement("p");
      note.className = "n";
      note.append(marked(best === page || !page ? shorter(best.text) : best.title + ": " + shorter(best.text)));
      item.append(note);
      list.append(item);
    });
    count.textContent = found.length
      ? found.length + (found.length === 1 ? " page" : " pages") + (found.length > SHOWN ? ", the first " + SHOWN : "")
      : "Nothing found for \u201c" + words + "\u201d. Try one word: a body, a port, a year; or go by Vehicles, Ports, Safety.";
    if (wanted) {
      wanted = false;
      follow();
    }
  }

  /** @param {boolean} shown */
  function open(shown) {
    panel.hidden = !shown;
  }

  function follow() {
    var first = list.querySelector("a");
    if (first) first.click();
  }

  field.addEventListener("focus", function () {
    start();
    open(true);
  });
  field.addEventListener("input", function () {
    wanted = false;
    start();
    open(true);
    ask();
  });
  form.addEventListener("submit", function (event) {
    event.preventDefault();
    var words = field.value.trim();
    if (words && panel.dataset.answered === words) follow();
    else wanted = words !== "";
  });
  document.addEventListener("keydown", function (event) {
    if (panel.hidden || !inside(document.activeElement)) return;
    if (event.key === "Escape") {
      event.preventDefault(); // or the field would empty itself and open the list again
      field.focus();
      open(false);
    } else if (event.key === "ArrowDown" || event.key === "ArrowUp") {
      var stops = [/** @type {HTMLElement} */ (field)].concat(Array.from(list.querySelectorAll("a")));
      var at = stops.indexOf(/** @type {HTMLElement} */ (document.activeElement));
      var next = at < 0 ? null : stops[at + (event.key === "ArrowDown" ? 1 : -1)];
      if (next) {
        event.preventDefault();
        next.focus();
      }
    }
  });
  // The list closes when the focus or a click leaves it.
  document.addEventListener("focusin", function (event) {
    if (!panel.hidden && !inside(/** @type {Node} */ (event.target))) open(false);
  });
  document.addEventListener("click", function (event) {
    if (!panel.hidden && !inside(/** @type {Node} */ (event.target))) open(false);
  });

  /** @param {Node|null} element @returns {boolean} */
  function inside(element) {
    return panel.contains(element) || form.contains(element);
  }
})();
