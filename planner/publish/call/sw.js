// Keeps the pages on the device, so that they open without signal: all of one version or none of it. A classic service
// worker; the build fills in what to keep. Every address is taken relative to this file, so that any path of a host will do.

(function () {
  "use strict";

  /** @typedef {[string, string]} Kept A path below this file, and the SHA-256 of its bytes in hexadecimal. */
  /** @typedef {{ id: string, version: string, date: string, changes: string, files: Kept[] }} Pocket */
  /** @typedef {"changing" | "download" | "room"} Why */
  /** @typedef {Error & { why?: Why, path?: string }} Trouble */

  /** @type {Pocket} */
  var POCKET = { id: "", version: "", date: "", changes: "", files: [] };

  var worker = /** @type {ServiceWorkerGlobalScope} */ (/** @type {unknown} */ (self));
  var HERE = new URL("./", worker.location.href);
  // Other pages share the origin, and perhaps another copy of these: no path holds a space, so no name begins another.
  var FAMILY = "rangeferry-pocket " + HERE.pathname + " ";
  var CACHE = FAMILY + POCKET.id;
  var LANES = 6; // downloads at a time: what browsers allow one host over HTTP/1.1
  var PREVIEW = "version"; // ?version=ID: a page of the version that waits, with all its parts
  // A body comes out of its coding before it is hashed, and nothing of an answer depends on who asks.
  var DROPPED_HEADERS = ["content-encoding", "content-length", "transfer-encoding", "vary"];
  /** @type {Map<string, string>} */
  var hashes = new Map(POCKET.files);

  // ------------------------------------------------------------------------------------------------------ addresses

  /**
   * @param {string} path
   * @returns {string}
   */
  function addressOf(path) {
    return new URL(path.split("/").map(encodeURIComponent).join("/"), HERE).href;
  }

  /**
   * Where a file lies in a cache: its hash is part of the name, so that a later version can tell what is the same.
   * @param {string} path
   * @param {string} hash
   * @returns {string}
   */
  function keyOf(path, hash) {
    return addressOf(path) + "?" + hash;
  }

  /**
   * The path below this file, without query and anchor; null for what lies elsewhere.
   * @param {URL} address
   * @returns {string | null}
   */
  function pathOf(address) {
    if (address.origin !== HERE.origin || !address.pathname.startsWith(HERE.pathname)) return null;
    try {
      return decodeURIComponent(address.pathname.slice(HERE.pathname.length));
    } catch (error) {
      return null; // no text at all, so no file of ours
    }
  }

  /**
   * The kept file that a path means: a folder means its index, and some hosts leave out the ending.
   * @param {string} path
   * @returns {string | null}
   */
  function fileOf(path) {
    var meant = path === "" || path.endsWith("/") ? path + "index.html" : path;
    if (hashes.has(meant)) return meant;
    return hashes.has(meant + ".html") ? meant + ".html" : null;
  }

  // ------------------------------------------------------------------------------------------------------- download

  /**
   * @param {Why} why
   * @param {string} path
   * @returns {Trouble}
   */
  function trouble(why, path) {
    var made = /** @type {Trouble} */ (new Error(why + ": " + path));
    made.why = why;
    made.path = path;
    return made;
  }

  /**
   * @param {ArrayBuffer} body
   * @returns {Promise<string>}
   */
  async function hashOf(body) {
    var bytes = new Uint8Array(await crypto.subtle.digest("SHA-256", body));
    return Array.from(bytes, function (byte) {
      return ("0" + byte.toString(16)).slice(-2);
    }).join("");
  }

  /**
   * One file as the server has it now, or a trouble where it is not the file of this version.
   * @param {string} path
   * @param {string} hash
   * @param {RequestCache} [mode]
   * @returns {Promise<Response>}
   */
  async function fetched(path, hash, mode) {
    /** @type {Response} */
    var answer;
    /** @type {ArrayBuffer} */
    var body;
    try {
      answer = await fetch(addressOf(path), { cache: mode || "no-cache" });
      body = await answer.arrayBuffer();
    } catch (error) {
      throw trouble("download", path);
    }
    if (answer.status === 404) throw trouble("changing", path); // named in the list, not there yet or no longer
    if (!answer.ok) throw trouble("download", path);
    if ((await hashOf(body)) !== hash) {
      // A server that tells times by the second may call an old copy fresh: ask once more, past every copy.
      if (!mode) return fetched(path, hash, "reload");
      throw trouble("changing", path);
    }
    // Built anew: a browser refuses a redirected answer for a page.
    var headers = new Headers(answer.headers);
    DROPPED_HEADERS.forEach(function (name) {
      headers.delete(name);
    });
    return new Response(body, { status: 200, headers: headers });
  }

  /**
   * @param {Cache} cache
   * @param {string} path
   * @param {string} hash
   * @param {Response} answer
   * @returns {Promise<void>}
   */
  async function keep(cache, path, hash, answer) {
    try {
      await cache.put(keyOf(path, hash), answer);
    } catch (error) {
      throw trouble("room", path);
    }
  }

  /**
   * What this version lacks in its cache.
   * @param {Cache} cache
   * @returns {Promise<Kept[]>}
   */
  async function missing(cache) {
    var there = new Set((await cache.keys()).map(function (request) {
      return request.url;
    }));
    return POCKET.files.filter(function (file) {
      return !there.has(keyOf(file[0], file[1]));
    });
  }

  /**
   * The caches of other versions of these very pages.
   * @returns {Promise<string[]>}
   */
  async function otherVersions() {
    return (await caches.keys()).filter(function (name) {
      return name.startsWith(FAMILY) && name !== CACHE;
    });
  }

  /**
   * Fills the cache of this version: from older ones what is the same, the rest from the server. What a failed attempt got
   * stays for the next one, each file proved; nothing is answered from it before all are there.
   * @returns {Promise<void>}
   */
  async function fill() {
    var cache = await caches.open(CACHE);
    var wanted = await missing(cache);
    var older = await Promise.all((await otherVersions()).map(function (name) {
      return caches.open(name);
    }));
    var next = 0;

    /**
     * @param {string} path
     * @param {string} hash
     * @returns {Promise<void>}
     */
    async function take(path, hash) {
      for (var number = 0; number < older.length; number += 1) {
        var same = await older[number].match(keyOf(path, hash));
        if (same) return keep(cache, path, hash, same);
      }
      return keep(cache, path, hash, await fetched(path, hash));
    }

    /** @returns {Promise<void>} */
    async function lane() {
      while (next < wanted.length) {
        var file = wanted[next];
        next += 1;
        try {
          await take(file[0], file[1]);
        } catch (error) {
          next = wanted.length; // the other lanes need not go on
          throw error;
        }
      }
    }

    await Promise.all(Array.from({ length: LANES }, lane));
    // Another version that came into use meanwhile may have thrown this cache away: what is not whole is not installed.
    if ((await missing(await caches.open(CACHE))).length) throw trouble("download", "");
  }

  // ----------------------------------------------------------------------------------------------------------- told

  /**
   * Tells every open page of ours, also those that this worker does not serve.
   * @param {object} message
   * @returns {Promise<void>}
   */
  async function tell(message) {
    var pages = await worker.clients.matchAll({ includeUncontrolled: true, type: "window" });
    pages.forEach(function (page) {
      if (page.url.startsWith(HERE.href)) page.postMessage(message);
    });
  }

  /**
   * @param {Trouble} error
   * @returns {{ kind: string, why: Why, path: string }}
   */
  function failure(error) {
    return { kind: "failed", why: error.why || "download", path: error.path || "" };
  }

  /**
   * What a page may know of this version.
   * @returns {{ kind: string, id: string, version: string, date: string, changes: string }}
   */
  function about() {
    return { kind: "active", id: POCKET.id, version: POCKET.version, date: POCKET.date, changes: POCKET.changes };
  }

  // -------------------------------------------------------------------------------------------------------- answers

  /**
   * @param {string} text
   * @returns {string}
   */
  function escaped(text) {
    return text.replace(/&/g, "&amp;").replace(/</g, "&lt;").replace(/>/g, "&gt;").replace(/"/g, "&quot;");
  }

  /**
   * The answer for an address that is not on this device while there is no signal, or that the browser has thrown away
   * while the server has newer pages.
   * @param {Request} request
   * @param {boolean} [newer]
   * @returns {Response}
   */
  function notHere(request, newer) {
    var kept_here = "the pages kept on this device: data " + POCKET.version + " of " + POCKET.date + ".";
    var told = newer
      ? "This address was lost from " + kept_here + " The server has newer ones: close every tab with these pages, then " +
        "open them again."
      : "There is no signal, and this address is not among " + kept_here;
    if (request.mode !== "navigate") {
      return new Response(told, { status: 404, headers: { "Content-Type": "text/plain; charset=utf-8" } });
    }
    var page = '<!doctype html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n' +
      "<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; base-uri 'none'; form-action 'none'\">\n" +
      '<meta name="viewport" content="width=device-width, initial-scale=1">\n' +
      '<meta name="color-scheme" content="light dark">\n<title>Not on this device - rangeferry</title>\n</head>\n<body>\n' +
      "<main>\n<h1>Not on this device</h1>\n<p>" + escaped(told) + "</p>\n" +
      '<p><a href="' + escaped(addressOf("index.html")) + '">To the front page</a></p>\n</main>\n</body>\n</html>\n';
    return new Response(page, { status: 404, headers: { "Content-Type": "text/html; charset=utf-8" } });
  }

  /**
   * A file of this version; one that the browser has thrown away is fetched again, if it is still the same.
   * @param {string} path
   * @param {Request} request
   * @returns {Promise<Response>}
   */
  async function kept(path, request) {
    var hash = /** @type {string} */ (hashes.get(path));
    var cache = await caches.open(CACHE);
    var found = await cache.match(keyOf(path, hash));
    if (found) return found;
    try {
      var answer = await fetched(path, hash);
      await keep(cache, path, hash, answer.clone()).catch(function () {}); // no room: shown, if not kept
      return answer;
    } catch (error) {
      return notHere(request, /** @type {Trouble} */ (error).why === "changing");
    }
  }

  /**
   * A file of the version that waits, for the page that tells what it brings; null where that version is not here.
   * @param {string} id
   * @param {string} path
   * @returns {Promise<Response | null>}
   */
  async function previewed(id, path) {
    var name = FAMILY + id;
    if (name === CACHE || !(await caches.has(name))) return null;
    var cache = await caches.open(name);
    var address = addressOf(path);
    var request = (await cache.keys()).find(function (one) {
      return one.url.split("?")[0] === address;
    });
    return request ? (await cache.match(request)) || null : null;
  }

  /**
   * The address of the page that an answer is for: all parts of a page come from where the page came from.
   * @param {FetchEvent} event
   * @returns {Promise<URL | null>}
   */
  async function pageOf(event) {
    if (event.request.mode === "navigate") return new URL(event.request.url);
    var client = event.clientId ? await worker.clients.get(event.clientId) : undefined;
    return client ? new URL(client.url) : null;
  }

  /**
   * @param {FetchEvent} event
   * @param {string} path
   * @returns {Promise<Response>}
   */
  async function answered(event, path) {
    var request = event.request;
    var page = await pageOf(event);
    var waiting = page && page.searchParams.get(PREVIEW);
    if (waiting) {
      var shown = await previewed(waiting, path);
      if (shown) return shown;
    }
    var file = fileOf(path);
    // A page that is not of this version came from the server, and so must its parts: never half of each.
    var pagePath = page && pathOf(page);
    var foreign = pagePath !== null && fileOf(pagePath) === null;
    if (file !== null && !foreign) return kept(file, request);
    if (request.mode === "navigate" && hashes.has(path + "/index.html")) {
      return Response.redirect(addressOf(path) + "/" + new URL(request.url).search, 302);
    }
    try {
      return await fetch(request);
    } catch (error) {
      return notHere(request);
    }
  }

  worker.addEventListener("install", function (event) {
    event.waitUntil(fill().catch(async function (error) {
      await tell(failure(error));
      throw error;
    }));
  });

  worker.addEventListener("activate", function (event) {
    event.waitUntil(caches.open(CACHE).then(missing).then(async function (lacking) {
      // What an older version kept is given up only for one that is whole.
      var names = lacking.length ? [] : await otherVersions();
      await Promise.all(names.map(function (name) {
        return caches.delete(name);
      }));
    }).then(function () {
      return tell(about());
    }));
  });

  worker.addEventListener("fetch", function (event) {
    var request = event.request;
    var path = pathOf(new URL(request.url));
    if (path === null || request.method !== "GET") return;
    event.respondWith(answered(event, path));
  });

  worker.addEventListener("message", function (event) {
    var port = event.ports[0];
    if (event.data.ask === "about") {
      event.waitUntil(caches.open(CACHE).then(missing).then(function (lacking) {
        port.postMessage(Object.assign({ whole: lacking.length === 0 }, about()));
      }));
    } else if (event.data.ask === "mend") {
      event.waitUntil(fill().then(about, failure).then(function (told) {
        port.postMessage(told);
      }));
    } else if (event.data.ask === "use") {
      worker.skipWaiting(); // said by a person alone: pages of the old version are open
    }
  });
})();
