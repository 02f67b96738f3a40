export const master = {};
