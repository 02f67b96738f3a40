export const drawings = {};
