// Now, as the server has it: a phone's clock that is minutes off or years is put right, and said.
const SLACK = 120_000;
let offset = 0;

/** @param {number | null} ms how far this phone's clock is off */
export const learn = (ms) => {
  offset = ms !== null && Number.isFinite(ms) && Math.abs(ms) > SLACK ? ms : 0;
  document.body.dataset.clock = offset ? "off" : "right";
};
export const wrongBy = () => offset;
export const now = () => new Date(Date.now() + offset);
export const stamp = () => now().toISOString();

const AHEAD = 600_000, BACK = 30 * 86_400_000;
/**
 * A time that was taken while the phone's clock was thought to be `off` [ms] away, as it reads now
 * that more is known. One that cannot be, days ahead or a month back, becomes now.
 * @param {string} moment
 */
export const righted = (moment, off = 0, ahead = AHEAD) => {
  const shift = Math.abs(offset - off) > SLACK ? offset - off : 0;
  const time = new Date(moment).getTime() + shift, here = now().getTime();
  if (time > here + ahead || time < here - BACK) return now().toISOString();
  return shift ? new Date(time).toISOString() : moment;
};
