// What the page scripts must hold: classic scripts for old phones, by the content policy, without requests.
const js = require("@eslint/js");
const globals = require("globals");

const NO_REQUESTS = ["fetch", "XMLHttpRequest", "WebSocket", "EventSource", "importScripts"];

/** No request by a name, bare or of window and self; `allowed` are those that a script is there for. */
function noRequests(allowed) {
  const names = NO_REQUESTS.filter((name) => !allowed.includes(name));
  const restricted = names.map((name) => ({ name, message: "A page asks nothing of anyone: put data into a script." }));
  return ["error", { globals: restricted, checkGlobalObject: true }];
}

/** No attribute, set by its name, that the content policy would drop. */
function noAttribute(pattern, message) {
  return { selector: `CallExpression[callee.property.name="setAttribute"][arguments.0.value=${pattern}]`, message };
}

module.exports = [
  { linterOptions: { reportUnusedDisableDirectives: "error", reportUnusedInlineConfigs: "error" } },
  js.configs.recommended,
  {
    languageOptions: {
      ecmaVersion: 2019, // newer syntax stops an old phone at the first line; tsc watches over newer functions
      sourceType: "script",
      // The one name that scripts share. What is more comes here too: a new global is never an accident.
      globals: { ...globals.browser, rangeferry: "writable" },
    },
    rules: {
      eqeqeq: "error",
      "no-eval": "error",
      "no-implied-eval": "error",
      "no-new-func": "error",
      "no-script-url": "error",
      "no-implicit-globals": "error",
      "no-redeclare": ["error", { builtinGlobals: false }], // each script may be the first to declare the shared name
      "no-unused-vars": ["error", { caughtErrors: "none", argsIgnorePattern: "^_" }], // an old phone wants `catch (error)`
      "no-restricted-globals": noRequests([]),
      "no-restricted-properties": [
        "error",
        { object: "document", property: "write", message: "It writes markup past every check: make elements." },
        { object: "document", property: "writeln", message: "It writes markup past every check: make elements." },
        { object: "navigator", property: "sendBeacon", message: "A page asks nothing of anyone." },
        { property: "outerHTML", message: "Make elements, or replace them." },
        { property: "insertAdjacentHTML", message: "Make elements, or replace them." },
      ],
      "no-restricted-syntax": [
        "error",
        noAttribute('"style"', "The content policy drops style attributes: set a class."),
        noAttribute("/^on/i", "The content policy drops handlers in attributes: addEventListener."),
      ],
    },
  },
  { files: ["**/search.js"], rules: { "no-restricted-globals": noRequests(["fetch"]) } }, // its index, when wanted
  {
    files: ["**/sw.js"],
    // What a page has and a worker has not is undefined here.
    languageOptions: { globals: { ...off(globals.browser), ...globals.serviceworker, rangeferry: "writable" } },
    rules: { "no-restricted-globals": noRequests(["fetch", "importScripts"]) },
  },
];

/** Globals of a configuration above this one, taken out again. */
function off(names) {
  return Object.fromEntries(Object.keys(names).map((name) => [name, "off"]));
}
