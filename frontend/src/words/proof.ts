export const proof = {};
