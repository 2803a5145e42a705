// What this device keeps, and nothing else of any work: the steps ahead of the one preparation that is open on it
// ("ahead"), and finished steps that are not sent yet ("finished"). A write counts only when it is complete on the
// disk. Neither holds a token, a PIN or an amount that somebody must obtain apart.
"use strict";
window.outbox = (() => {
  let opened = null;

  function base() {
    opened ??= new Promise((done, failed) => {
      const asked = indexedDB.open("counterdraw", 1);
      asked.onupgradeneeded = () => {
        asked.result.createObjectStore("ahead", { keyPath: "code" });
        asked.result.createObjectStore("finished", { keyPath: "number", autoIncrement: true });
      };
      asked.onsuccess = () => done(asked.result);
      asked.onerror = () => failed(asked.error);
    });
    opened.catch(() => { opened = null; });
    return opened;
  }

  async function act(store, mode, doing) {
    const database = await base();
    return new Promise((done, failed) => {
      const transaction = database.transaction(store, mode, { durability: "strict" });
      const asked = doing(transaction.objectStore(store));
      transaction.oncomplete = () => done(asked.result);
      transaction.onabort = () => failed(transaction.error);
    });
  }

  const read = (store, doing) => act(store, "readonly", doing);
  const write = (store, doing) => act(store, "readwrite", doing);

  return {
    keep: (step) => write("finished", (store) => store.add(step)),
    waiting: () => read("finished", (store) => store.getAll()),
    drop: (number) => write("finished", (store) => store.delete(number)),
    ahead: (code) => read("ahead", (store) => store.get(code)),
    owners: async () => (await read("ahead", (store) => store.getAll())).map((pack) => pack.person),
    erase: () => write("ahead", (store) => store.clear()),
    // One preparation at a time: whatever else was open is open no more.
    setAhead: (pack) => write("ahead", (store) => {
      store.clear();
      return store.put(pack);
    }),
  };
})();
