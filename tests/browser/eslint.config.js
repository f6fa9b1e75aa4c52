import js from "@eslint/js";

export default [
  js.configs.recommended,
  {
    rules: {
      "no-var": "error",
      "prefer-const": ["error", { destructuring: "all" }],
      eqeqeq: "error",
      "no-unused-vars": ["error", { args: "all", argsIgnorePattern: "^_", varsIgnorePattern: "^_" }],
      // Which names there are, the type checker knows; what runs in the browser uses the browser's.
      "no-undef": "off",
    },
  },
  {
    // The page's scripts share one scope: what one declares, others use.
    files: ["src/page/script/*.js", "src/panel/script/panel.js"],
    languageOptions: { sourceType: "script" },
    rules: { "no-unused-vars": ["error", { vars: "local", args: "all", argsIgnorePattern: "^_" }] },
  },
];
