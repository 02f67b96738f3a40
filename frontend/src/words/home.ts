export const home = {};
