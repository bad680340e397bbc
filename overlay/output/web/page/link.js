// What every live page needs: a connection that comes back, and the host's clock.

const STALE = 2000, LOOK = 250, FIRST = 100, LONGEST = 1000; // milliseconds

// now is an instant by both of a computer's clocks, and since how long ago it was, in milliseconds, by that which says more:
// the one may stand while the computer sleeps, the other may be set.
const now = () => ({ steady: performance.now(), wall: Date.now() });
const since = (then) => Math.max(performance.now() - then.steady, Date.now() - then.wall);

// Link is a WebSocket that comes back: tried again after 100 ms, then later and later, at most a second apart. After two
// seconds without a word the connection is given up for another, and what still comes over it is not taken: after a sleep it
// is old. While nobody sees the page there is none.
//
//	open()            the connection is there
//	take(data, now)   a message came, a string or an ArrayBuffer; it may return a promise. false: not yet a word that
//	                  what is shown is current. An error gives the connection up
//	lost()            at once when a connection over which something came is gone, or nobody sees the page any more
//	stale(silent)     again and again while nothing has been heard for two seconds or more; silent in milliseconds
//	back()            once, after the first message taken after lost or stale
export class Link {
  #url; #on;
  #socket = null; #wait = 0; #retry = 0; #timer = 0;
  #heard = now(); // or when listening began
  #begun = now(); // of the connection
  #lost = false;
  #taken = false; // something came over this connection

  constructor(path, { open, take, lost, stale, back }) {
    this.#url = location.origin.replace(/^http/, "ws") + path;
    this.#on = { open, take, lost, stale, back };
    document.addEventListener("visibilitychange", () => this.#seen());
    this.#seen();
  }

  // send tells whether the message went out; nothing waits for a connection.
  send(text) {
    const ready = this.#socket !== null && this.#socket.readyState === WebSocket.OPEN;
    if (ready) this.#socket.send(text);
    return ready;
  }

  // current tells whether something came over the connection within the last two seconds.
  get current() { return this.#taken && since(this.#heard) < STALE; }

  #connect() {
    clearTimeout(this.#retry);
    if (document.hidden || this.#socket) return;
    const s = new WebSocket(this.#url);
    s.binaryType = "arraybuffer";
    this.#socket = s;
    this.#begun = now();
    s.onopen = () => { if (s === this.#socket) this.#on.open?.(); };
    s.onmessage = (e) => this.#take(s, e.data);
    s.onclose = () => { if (s === this.#socket) this.#leave(); };
  }

  async #take(s, data) {
    const came = now();
    if (since(this.#heard) >= STALE) this.#look();
    try {
      if (s !== this.#socket || await this.#on.take(data, came.steady) === false || s !== this.#socket) return;
    } catch (e) {
      console.error(e);
      if (s === this.#socket) this.#leave();
      return;
    }
    this.#heard = came;
    this.#taken = true;
    this.#wait = 0;
    if (this.#lost) {
      this.#lost = false;
      this.#on.back?.();
    }
  }

  #leave() {
    this.#drop();
    if (document.hidden) return;
    this.#wait = Math.min(this.#wait ? 2 * this.#wait : FIRST, LONGEST);
    this.#retry = setTimeout(() => this.#connect(), this.#wait * (0.5 + Math.random() / 2));
  }

  #drop() {
    clearTimeout(this.#retry);
    const s = this.#socket, had = this.#taken;
    this.#socket = null;
    this.#taken = false;
    s?.close();
    if (!had) return;
    this.#lost = true;
    this.#on.lost?.();
  }

  // look comes by when the silence may have become too long: while something is heard, every two seconds.
  #look() {
    clearTimeout(this.#timer);
    if (document.hidden) return;
    const silent = since(this.#heard);
    if (silent >= STALE) {
      this.#lost = true;
      this.#on.stale?.(silent);
      if (this.#socket && since(this.#begun) >= STALE) this.#leave(); // a connection that says nothing is dead
    }
    this.#timer = setTimeout(() => this.#look(), Math.max(STALE - silent, LOOK));
  }

  // seen lets go of the connection of a page that nobody sees; seen again it has two seconds.
  #seen() {
    if (document.hidden) {
      this.#drop();
      this.#lost = true;
      this.#on.lost?.();
      return;
    }
    this.#heard = now();
    this.#wait = 0;
    this.#look();
    this.#connect();
  }
}

// HostClock is the host's clock as it is known here: the twin of Estimate in engine/feed/offset.go, which says why. All
// times are milliseconds; the local ones are those of performance.now().
export class HostClock {
  static #samples = 1024; // remembered
  static #wander = 130e-6; // how far two clocks drift apart
  static #slew = 0.1; // how fast a clock that is seen is put right, of its pace
  static #step = 2000; // an error from which on it is put right at once
  static #longest = 10000; // a way there and back that says nothing
  static #far = 20; // a way there and back that is no longer a quick one

  #kept = []; // there, back and when it was answered
  #next = 0;
  #shown = 0; #at = 0; #goal = 0; // the offset in use at a local time, and the one it goes to
  #known = false;
  #heard = 0; // samples
  #way = 0; // there and back, of the last

  // add takes the four timestamps of an exchange, and tells whether it is of use.
  add(asked, received, sent, answered) {
    const there = received - asked, back = answered - sent;
    if (!(answered >= asked && sent >= received && there + back >= 0 && there + back <= HostClock.#longest)) return false;
    if (this.#known) {
      this.#shown = this.#offset(answered);
      this.#at = answered;
    }
    this.#kept[this.#next] = { there, back, answered };
    this.#next = (this.#next + 1) % HostClock.#samples;
    this.#heard++;
    this.#way = there + back;
    this.#goal = this.#best(answered);
    if (this.#goal === null) { // one of the clocks has stood or was set
      this.#kept = [{ there, back, answered }];
      this.#next = 1;
      this.#goal = this.#best(answered);
    }
    if (!this.#known || Math.abs(this.#goal - this.#shown) >= HostClock.#step) {
      this.#shown = this.#goal;
      this.#at = answered;
      this.#known = true;
    }
    return true;
  }

  // shift lets the clock show by more, now and in all samples: as when another game begins whose zero is known.
  shift(by) {
    for (const s of this.#kept) {
      s.there += by;
      s.back -= by;
    }
    this.#shown += by;
    this.#goal += by;
  }

  // pause is how long to wait before asking again: often at first, and over a slow way.
  get pause() { return this.#heard < 8 || this.#way > HostClock.#far ? 250 : 1000; }

  // best is the offset by the quickest way there and the quickest way back; null where samples do not agree.
  #best(now) {
    let there = 0, back = 0, quickest = Infinity, least = Infinity;
    for (const s of this.#kept) {
      const unsure = (now - s.answered) * HostClock.#wander;
      if (s.there + unsure < quickest) { there = s.there; quickest = there + unsure; }
      if (s.back + unsure < least) { back = s.back; least = back + unsure; }
    }
    return quickest + least < 0 ? null : (there - back) / 2;
  }

  // now returns the host's clock, or null while nothing is known. It does not run backwards, unless it was two seconds off.
  now(local = performance.now()) { return this.#known ? local + this.#offset(local) : null; }

  #offset(local) {
    const most = Math.max(local - this.#at, 0) * HostClock.#slew;
    return this.#shown + Math.min(Math.max(this.#goal - this.#shown, -most), most);
  }

  // forget drops what was heard, as after a sleep; the clock goes on until it hears again.
  forget() {
    this.#kept = [];
    this.#next = 0;
  }
}
