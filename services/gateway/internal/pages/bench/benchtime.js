// The time of a press. A phone's clock may be wrong, and may be set while something waits to be sent: beside what it
// shows, what has passed since the page was opened is kept, which nobody can set.
import {newID} from './benchqueue.js';

const life = newID(); // of this page: what has passed counts from its beginning
const slack = 2000; // ms by which two clocks may disagree

// contact is when the shop was last heard, and how far this phone's clock was ahead of it then, ms.
let contact = null;

// heard takes what the shop's clock showed in an answer that took so long. A slow one says little.
export function heard(now, took) {
  if (contact && !contact.old && took > slack / 2) return contact.skew;
  contact = {wall: Date.now(), mono: performance.now(), skew: Date.now() - Date.parse(now)};
  return contact.skew;
}

// recall gives the skew that an earlier page kept.
export function recall(skew) {
  if (!contact && skew !== undefined) contact = {skew, old: true};
}

export const mark = () => ({wall: Date.now(), mono: performance.now(), life, skew: contact ? contact.skew : null});

// steady tells whether what is known of the shop's clock still holds: this phone's has not been set since it was heard,
// nor has the phone slept, which looks alike.
export const steady = () => Boolean(contact && !contact.old) && Math.abs(Date.now() - contact.wall - (performance.now() - contact.mono)) < slack;

// byShop is when a mark was by the shop's clock, ISO; a little early rather than late, by what the answer took.
export const byShop = (m) => new Date(m.wall - contact.skew).toISOString();

// byDevice is when a mark was by this phone's clock as it goes now, and whether that is sure. A clock that was set back
// shows less than has passed; one that was set forward is told from a phone that slept by the shop's clock.
export function byDevice(m) {
  const passed = m.life === life ? Date.now() - m.wall - (performance.now() - m.mono) : 0;
  if (passed < -slack) return {at: m.wall + passed, sure: true};
  const moved = m.skew === null || !contact ? 0 : contact.skew - m.skew;
  if (Math.abs(moved) <= slack) return {at: m.wall, sure: true};
  if (m.life === life && passed > slack && moved > 0) return {at: m.wall + moved, sure: true};
  return {at: m.wall, sure: m.life === life};
}

export const now = () => (contact && !contact.old ? Date.now() - contact.skew : Date.now());
