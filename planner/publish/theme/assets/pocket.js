// Has the pages kept on this device, and says in a quiet bar how that stands. A new version waits until somebody takes it;
// then every open page is loaded again, once. Classic script; a page from a folder needs none of this.
(function () {
  "use strict";

  /** @typedef {{ id: string, version: string, date: string, changes: string, whole?: boolean }} About */
  /** @typedef {{ kind: "failed", why: "changing" | "download" | "room", path: string }} Failure */

  var script = /** @type {HTMLScriptElement} */ (document.currentScript);
  var workers = navigator.serviceWorker;
  if (!/^https?:$/.test(location.protocol) || !workers) return; // a folder, or a host without a safe connection

  var FIRST_WAIT_MS = 2000; // own-judgement: the page itself comes first
  var LOOK_AGAIN_MS = 3600000; // own-judgement: a phone that lay in the cab for an hour asks for a new version
  var LATER = "rangeferry-later";
  var root = new URL(script.dataset.root + "/", document.baseURI);
  var address = new URL("sw.js", root).href;
  var ours = { version: script.dataset.version || "", date: script.dataset.date || "" };
  var bar = /** @type {HTMLElement} */ (document.getElementById("kept"));
  var told = /** @type {HTMLElement} */ (document.getElementById("kept-told"));
  var choices = /** @type {HTMLElement} */ (document.getElementById("kept-choices"));

  /** @type {ServiceWorkerRegistration | null} */
  var registration = null;
  /** @type {About | null} */
  var active = null;
  /** @type {About | null} */
  var waiting = null;
  /** @type {Failure | null} */
  var failure = null;
  var seen = ""; // the version on this device when this page first looked
  var asked = false; // somebody took the new version, in this page
  var reloading = false;
  var lookedAt = 0;

  bar.hidden = false;

  // ---------------------------------------------------------------------------------------------------- what is said

  /**
   * @param {{ version: string, date: string }} one
   * @returns {string}
   */
  function dated(one) {
    return "data " + one.version + " of " + one.date;
  }

  /**
   * @param {Failure} found
   * @returns {string}
   */
  function failed(found) {
    var stay = active ? "the ones on this device stay." : "nothing is kept on this device yet.";
    if (found.why === "changing") return "The pages on the server are being changed; " + stay;
    if (found.why === "room") return "This device has no room for the pages; " + stay;
    return "A download failed" + (found.path ? ": " + found.path : "") + "; " + stay;
  }

  /** @returns {boolean} */
  function putOff() {
    try {
      return waiting !== null && sessionStorage.getItem(LATER) === waiting.id;
    } catch (error) {
      return false;
    }
  }

  /**
   * @param {string} words
   * @param {() => void} act
   * @returns {HTMLButtonElement}
   */
  function button(words, act) {
    var made = document.createElement("button");
    made.type = "button";
    made.textContent = words;
    made.addEventListener("click", act);
    return made;
  }

  /**
   * Where the changes stand: in the version that waits, which the worker shows under this address.
   * @param {About} version
   * @returns {HTMLAnchorElement}
   */
  function whatChanged(version) {
    var link = document.createElement("a");
    link.href = new URL("changes/index.html?version=" + version.id, root).href;
    link.textContent = "What changed";
    return link;
  }

  function show() {
    /** @type {string[]} */
    var words = [];
    /** @type {HTMLElement[]} */
    var ways = [];
    var controlled = workers.controller !== null;
    if (active && (active.version !== ours.version || active.date !== ours.date)) {
      words.push("This page is " + dated(ours) + "; the pages kept on this device are " + dated(active) + ".");
    } else if (active && !waiting) {
      words.push("Kept on this device: " + dated(active) + ", works without signal.");
    }
    if (waiting) {
      words.push("New version ready: " + dated(waiting) + ".");
      if (waiting.changes) words.push(waiting.changes);
      ways.push(whatChanged(waiting));
      ways.push(button("Use the new version", use));
      if (!putOff()) ways.push(button("Later", later));
    } else if (failure) {
      words.push(failed(failure));
      ways.push(button("Try again", again));
    } else if (!active || active.whole === false) {
      words = ["Getting ready to work without signal ..."];
    }
    if (asked) {
      words = ["Changing to the new version ..."];
      ways = [];
    }
    var text = words.join(" ");
    if (told.textContent !== text) told.textContent = text; // the same words are not read out twice
    choices.replaceChildren.apply(choices, ways);
    bar.classList.toggle("ask", waiting !== null && !asked && !putOff());
    bar.dataset.state = waiting ? "ready" : failure ? "failed" : active ? "kept" : "getting";
    bar.dataset.controlled = String(controlled);
  }

  // ------------------------------------------------------------------------------------------------- what is on here

  /**
   * @param {ServiceWorker | null} worker
   * @param {"about" | "mend"} what
   * @returns {Promise<any>}
   */
  function ask(worker, what) {
    if (!worker) return Promise.resolve(null);
    return new Promise(function (done) {
      var channel = new MessageChannel();
      channel.port1.onmessage = function (event) {
        done(event.data);
      };
      /** @type {ServiceWorker} */ (worker).postMessage({ ask: what }, [channel.port2]);
    });
  }

  function look() {
    if (!registration) return Promise.resolve();
    return Promise.all([ask(registration.active, "about"), ask(registration.waiting, "about")]).then(function (found) {
      active = found[0];
      waiting = found[1];
      if (active && seen && active.id !== seen) reloadOnce(); // a page that was put aside, and came back
      if (active && !seen) seen = active.id;
      show();
      if (active && active.whole === false) mend();
    });
  }

  /** What the browser threw away is fetched again. */
  function mend() {
    ask(registration && registration.active, "mend").then(function (answer) {
      if (answer && answer.kind === "failed") failure = answer;
      else if (active) active.whole = true;
      show();
    });
  }

  /** @param {ServiceWorker | null} worker */
  function follow(worker) {
    if (!worker) return;
    var installing = worker.state === "installing";
    worker.addEventListener("statechange", function () {
      if (worker.state === "redundant" && installing && !failure) failure = { kind: "failed", why: "download", path: "" };
      installing = false;
      look().then(show);
    });
  }

  function start() {
    lookedAt = Date.now();
    failure = null;
    show();
    workers.register(address, { updateViaCache: "none" }).then(function (found) {
      if (!found) return; // a browser that was told to keep nothing
      if (registration !== found) {
        registration = found;
        found.addEventListener("updatefound", function () {
          failure = null;
          follow(found.installing);
        });
        follow(found.installing);
      }
      if (found.active) update();
      look();
    }, function (error) {
      if (error.name === "SecurityError" || error.name === "NotSupportedError") {
        bar.hidden = true; // this browser keeps nothing here, and nobody can do anything about it
        return;
      }
      failure = { kind: "failed", why: "download", path: "sw.js" };
      show();
    });
  }

  /** Asks the server for a new version; without signal there is none. */
  function update() {
    lookedAt = Date.now();
    if (registration) registration.update().catch(function () {});
  }

  // -------------------------------------------------------------------------------------------------- what one may do

  function use() {
    asked = true;
    show();
    if (registration && registration.waiting) registration.waiting.postMessage({ ask: "use" });
    else reloadOnce(); // another page took it meanwhile
  }

  function later() {
    try {
      if (waiting) sessionStorage.setItem(LATER, waiting.id);
    } catch (error) {
      // Nothing may be kept: the bar then asks on the next page again.
    }
    show();
    bar.classList.remove("ask");
  }

  function again() {
    if (registration && registration.active) {
      failure = null;
      show();
      update();
    } else {
      start();
    }
  }

  /** Loads the page again, with its anchor: an old page must not go on with new data. */
  function reloadOnce() {
    if (reloading) return;
    reloading = true;
    location.reload();
  }

  workers.addEventListener("controllerchange", reloadOnce);
  workers.addEventListener("message", function (event) {
    var from = /** @type {ServiceWorker | null} */ (event.source);
    if (from && from.scriptURL !== address) return; // another copy of these pages, on the same host
    if (event.data.kind === "failed") {
      failure = event.data;
      show();
    } else if (event.data.kind === "active") {
      if (asked || (seen && seen !== event.data.id)) reloadOnce();
      else look();
    }
  });
  addEventListener("pageshow", function (event) {
    if (event.persisted) look();
  });
  addEventListener("online", function () {
    if (failure) again();
    else update();
  });
  document.addEventListener("visibilitychange", function () {
    if (!document.hidden && Date.now() - lookedAt > LOOK_AGAIN_MS) update();
  });

  if (workers.controller) start();
  else if (document.readyState === "complete") setTimeout(start, FIRST_WAIT_MS);
  else addEventListener("load", function () {
    setTimeout(start, FIRST_WAIT_MS);
  });
})();
