// Where the draft is kept and the site is saved: `fieldmap open`, which this page came from.
"use strict";

/** @typedef {"kept"|"gone"|"old"|"reading"|"broken"|"lost"} Heard how the server took a draft */
const fieldKeeper = (() => {
  const AGAIN_MS = 3000; // until a server that does not answer is asked again

  /**
   * @param {string} method @param {string} path @param {any} [body]
   * @returns {Promise<{status: number, body: any}>} status 0 where nobody answers
   */
  async function ask(method, path, body) {
    try {
      const answer = await fetch(path, {
        method,
        headers: body === undefined ? {} : { "content-type": "application/json" },
        body: body === undefined ? undefined : JSON.stringify(body),
        keepalive: method === "POST" && path === "leave",
      });
      const isJson = (answer.headers.get("content-type") || "").startsWith("application/json");
      return { status: answer.status, body: isJson ? await answer.json() : { text: await answer.text() } };
    } catch {
      return { status: 0, body: {} };
    }
  }

  /** This tab, the same after it is loaded again. */
  function tab() {
    try {
      const known = sessionStorage.getItem("fieldmap tab") || crypto.randomUUID();
      sessionStorage.setItem("fieldmap tab", known);
      return known;
    } catch {
      return crypto.randomUUID();
    }
  }

  /** @param {string} site */
  function shelf(site) {
    const key = `fieldmap draft of ${site}`;
    return {
      /** @param {any} draft */
      put(draft) {
        try {
          localStorage.setItem(key, JSON.stringify(draft));
          return true;
        } catch {
          return false;
        }
      },
      get() {
        try {
          return JSON.parse(localStorage.getItem(key) || "null");
        } catch {
          return null;
        }
      },
      clear() {
        try {
          localStorage.removeItem(key);
        } catch {
          // nothing was kept there either
        }
      },
    };
  }

  /** Why the server took nothing. @param {number} status @returns {Heard} */
  function heard(status) {
    if (status === 0) return "gone";
    if (status === 403) return "old";
    return status === 423 ? "reading" : "broken";
  }

  /**
   * Keeps each draft with the server; where it does not answer, in the browser until it does.
   * @param {string} site @param {string} me
   * @param {(how: Heard) => void} tell
   */
  function keeping(site, me, tell) {
    const local = shelf(site);
    /** @type {any} */
    let waiting = null;
    let busy = false;

    async function send() {
      if (busy || !waiting) return;
      busy = true;
      const draft = waiting;
      const { status } = await ask("PUT", "draft", { tab: me, draft });
      busy = false;
      if (status === 204) {
        if (waiting === draft) {
          waiting = null;
          local.clear();
          tell("kept");
        } else send();
        return;
      }
      const isThere = local.put(waiting);
      tell(isThere || status === 423 ? heard(status) : "lost");
      if (status === 0) setTimeout(send, AGAIN_MS);
    }

    return Object.freeze({
      /** @param {any} draft */
      keep(draft) {
        waiting = draft;
        send();
      },
      /** A draft that no server has taken yet. */
      left: () => local.get(),
      clear: local.clear,
      get isWaiting() {
        return waiting !== null;
      },
    });
  }

  return Object.freeze({ ask, tab, keeping, heard });
})();
